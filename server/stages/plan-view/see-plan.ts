import { type Camera, photoFromTable, undistort } from '../../geometry/camera.js';
import type { PlanGrid } from '../../images/plan-sampling.js';

/** What a photo sees of the places of a plan grid, row by row. */
export interface SeenPlan {
  /** Photo pixels to a millimetre of the table, in the coarser direction; 0 where the photo does not show the place. */
  readonly pxPerMm: Float32Array;
  /** Distance of the place from the photo's rim, px. */
  readonly rimPx: Float32Array;
}

/** A lens is not asked for directions further out than its picture's corners, and a little. */
const mostRadii = 1.01;

/** Looks at every place of the grid, at a height above the table, through a camera. */
export function seePlan(
  camera: Camera,
  sizePx: { readonly widthPx: number; readonly heightPx: number },
  grid: PlanGrid,
  heightMm: number,
): SeenPlan {
  const { widthPx: w, heightPx: h } = sizePx;
  const limit = mostRadii * cornerRadius(camera, w, h);
  const places = grid.widthPx * grid.heightPx;
  const pxPerMm = new Float32Array(places);
  const rimPx = new Float32Array(places);
  for (let i = 0; i < places; i++) {
    const x = grid.x0 + (i % grid.widthPx) * grid.mmPerPx;
    const y = grid.y1 - Math.floor(i / grid.widthPx) * grid.mmPerPx;
    if (!(radiusOf(camera, x, y, heightMm) < limit)) continue;
    const p = photoFromTable(camera, x, y, heightMm);
    const rim = Math.min(p.x, p.y, w - 1 - p.x, h - 1 - p.y);
    if (!(rim > 0)) continue;
    const a = photoFromTable(camera, x + 1, y, heightMm);
    const b = photoFromTable(camera, x, y + 1, heightMm);
    pxPerMm[i] = Math.min(Math.hypot(a.x - p.x, a.y - p.y), Math.hypot(b.x - p.x, b.y - p.y));
    rimPx[i] = rim;
  }
  return { pxPerMm, rimPx };
}

/** Undistorted distance from the axis, in focal lengths; NaN behind the camera. */
function radiusOf(camera: Camera, x: number, y: number, z: number): number {
  const { rotation: r, translation: t } = camera.cameraFromTable;
  const depth = r[6] * x + r[7] * y + r[8] * z + t[2];
  if (depth <= 0) return Number.NaN;
  return Math.hypot(r[0] * x + r[1] * y + r[2] * z + t[0], r[3] * x + r[4] * y + r[5] * z + t[1]) / depth;
}

function cornerRadius({ lens }: Camera, w: number, h: number): number {
  const corners = [0, w - 1].flatMap((px) => [0, h - 1].map((py) => [px, py] as const));
  return Math.max(
    ...corners.map(([px, py]) => Math.hypot(...undistort(lens, (px - lens.cx) / lens.fx, (py - lens.cy) / lens.fy))),
  );
}
