import { photoFromTable } from '../../geometry/camera.js';
import type { MeasuredLayout } from '../../scene/measured-layout.js';

/** What tells where a place appears in photos. */
export type PhotosOfLayout = Pick<MeasuredLayout, 'cameras' | 'photoNames' | 'photoSizesPx' | 'track' | 'railTopOffMm'>;

/** Where a point at the height of the head's middle appears in each photo. */
export function seenAt(
  layout: PhotosOfLayout,
  x: number,
  y: number,
  heightMm?: number,
): { photo: string; px: [number, number] }[] {
  const h = (heightMm ?? layout.track.railTopMm - layout.track.headWidthMm / 2) + layout.railTopOffMm;
  const out: { photo: string; px: [number, number] }[] = [];
  layout.cameras.forEach((camera, i) => {
    const p = photoFromTable(camera, x, y, h);
    const [w, hPx] = layout.photoSizesPx[i];
    if (p.x >= 0 && p.y >= 0 && p.x <= w - 1 && p.y <= hPx - 1)
      out.push({ photo: layout.photoNames[i], px: [p.x, p.y] });
  });
  return out;
}
