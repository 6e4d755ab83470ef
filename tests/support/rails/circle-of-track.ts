import { type Camera, tableFromPhotoAtHeight } from '../../../server/geometry/camera.js';
import { rotationFromVector } from '../../../server/geometry/rotation.js';
import type { Raster } from '../../../server/images/raster.js';
import { tallTrack } from '../../../server/scene/track-profile.js';
import { looksAt, type Place } from '../../../server/stages/rails/rail-merit.js';

export const radiusMm = 260;
const sizePx = 1100;

/** From 1.5 m above, 0.5 m aside. */
export const camera: Camera = {
  lens: { fx: 2600, fy: 2600, cx: (sizePx - 1) / 2, cy: (sizePx - 1) / 2, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: rotationFromVector(Math.PI, 0, 0), translation: [60, 40, 1500] },
};

/** A place of the circle; it is gone round counter-clockwise. */
export function placeAt(angle: number): Place {
  return { x: radiusMm * Math.cos(angle), y: radiusMm * Math.sin(angle), headingRad: angle + Math.PI / 2 };
}

/**
 * A circle of track, each rail as it is seen from where the camera stands: dark heads with a bright crest where each mirrors the light, flanges, and a table between both.
 * @param shadowMm dark beside each flange, on its left, as a rail's shadow that touches it, or beside those of each rail
 * @param besideHead brightness of the flanges next to the head, over that next to their edges
 * @param asideMm how far a crest lies beside where the tube mirrors the light, by the degrees round the circle
 */
export function pictureOfCircle(
  light: { x: number; y: number; z: number },
  shadowMm: number | ((rail: -1 | 0 | 1) => number) = 0,
  besideHead = 1,
  asideMm: (degrees: number) => number = () => 0,
): Raster {
  const data = new Uint8Array(3 * sizePx * sizePx);
  const looks = Array.from({ length: 360 }, (_, i) => looksAt(camera, tallTrack, placeAt((i * Math.PI) / 180), light));
  const axisMm = tallTrack.railTopMm - tallTrack.headWidthMm / 2;
  for (let v = 0; v < sizePx; v++)
    for (let u = 0; u < sizePx; u++) {
      const p = tableFromPhotoAtHeight(camera, u, v, axisMm);
      const across = radiusMm - Math.hypot(p.x, p.y);
      const degrees = Math.round((Math.atan2(p.y, p.x) * 180) / Math.PI + 360) % 360;
      let light01 = 0.3;
      for (const { rail, offsetMm, look } of looks[degrees]) {
        const shadow = typeof shadowMm === 'number' ? shadowMm : shadowMm(rail);
        const d = across - offsetMm;
        const crestMm = look.crestMm + asideMm(degrees);
        const sides = look.edges.map((e) => e.offsetMm).filter((mm) => Math.abs(mm) > look.headHalfMm);
        if (Math.abs(d) < look.headHalfMm) light01 = 0.06 + 0.8 * Math.exp(-(((d - crestMm) / 0.5) ** 2));
        else if (d > Math.min(0, ...sides) && d < Math.max(0, ...sides) + shadow)
          light01 = 0.12 * (Math.abs(d) < (look.headHalfMm + Math.max(...sides.map(Math.abs))) / 2 ? besideHead : 1);
      }
      data.fill(Math.round(255 * light01 ** (1 / 2.2)), 3 * (v * sizePx + u), 3 * (v * sizePx + u) + 3);
    }
  return { widthPx: sizePx, heightPx: sizePx, channels: 3, data };
}

/** Places of the circle, 8 mm apart. */
export const samples = Array.from({ length: Math.round((2 * Math.PI * radiusMm) / 8) }, (_, i) =>
  placeAt((i * 8) / radiusMm),
);
