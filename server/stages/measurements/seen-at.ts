import { photoFromTable } from '../../geometry/camera.js';
import type { MeasuredLayout } from '../../scene/measured-layout.js';

/** What tells where a place appears in photos. */
export type PhotosOfLayout = Pick<MeasuredLayout, 'cameras' | 'photoNames' | 'photoSizesPx' | 'track' | 'railTopOffMm'>;

/**
 * Where a point on the rails appears in each photo that shows it.
 * @param heightMm above the table by the track's profile; the head's middle where none is given
 */
export function seenAt(
  layout: PhotosOfLayout,
  x: number,
  y: number,
  heightMm = layout.track.railTopMm - layout.track.headWidthMm / 2,
): { photo: string; px: [number, number] }[] {
  return layout.photoNames.flatMap((photo, i) => {
    const px = pixelIn(layout, i, x, y, heightMm + layout.railTopOffMm);
    return px ? [{ photo, px }] : [];
  });
}

/** Whether a photo shows a place of the table top, or where it would be. */
export function isTableShown(layout: PhotosOfLayout, x: number, y: number): boolean {
  return layout.cameras.some((_, i) => pixelIn(layout, i, x, y, 0) !== null);
}

/** Photo frame; null outside the picture. */
function pixelIn(
  { cameras, photoSizesPx }: PhotosOfLayout,
  photo: number,
  x: number,
  y: number,
  zMm: number,
): [number, number] | null {
  const p = photoFromTable(cameras[photo], x, y, zMm);
  const [width, height] = photoSizesPx[photo];
  return p.x >= 0 && p.y >= 0 && p.x <= width - 1 && p.y <= height - 1 ? [p.x, p.y] : null;
}
