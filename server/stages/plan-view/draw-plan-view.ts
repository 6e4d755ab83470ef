import type { PlanView } from '../../contract/plan-view.js';
import type { Report } from '../../contract/report.js';
import type { Camera } from '../../geometry/camera.js';
import { multiply3 } from '../../geometry/rotation.js';
import { colourPlan } from '../../images/plan-sampling.js';
import { pictureCodec } from '../../images/sharp-codec.js';
import type { Photo } from '../../scene/photo.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { mergePhotos } from './merge-photos.js';

/** How much beyond the table's outline is drawn. */
const borderMm = 40;
const mostPx = 3000;

/**
 * The picture of the table from straight above, true at the height of the rail top, in the report's table frame. Several
 * photos are put together to one picture; the primary one, from which the runs are taken, is preferred.
 * @param cameras one for each photo, in the frame of the adjustment
 * @param shift from the frame of the adjustment to the report's
 */
export async function drawPlanView(
  photos: readonly Photo[],
  cameras: readonly Camera[],
  primary: number,
  shift: { readonly originX: number; readonly originY: number; readonly turnRad: number },
  report: Report,
  track: TrackProfile,
): Promise<{ planView: PlanView; planViewJpeg: Uint8Array }> {
  const points = [
    ...report.table.outline,
    ...report.runs.flatMap((r) => r.pieces.flatMap((p) => [p.from, p.to])),
    ...report.markers.flatMap((m) => m.corners),
  ];
  const x0 = Math.min(...points.map((p) => p[0])) - borderMm;
  const x1 = Math.max(...points.map((p) => p[0])) + borderMm;
  const y0 = Math.min(...points.map((p) => p[1])) - borderMm;
  const y1 = Math.max(...points.map((p) => p[1])) + borderMm;
  const mmPerPx = Math.max(0.75, Math.max(x1 - x0, y1 - y0) / mostPx);
  const grid = {
    x0,
    y1,
    mmPerPx,
    widthPx: Math.ceil((x1 - x0) / mmPerPx),
    heightPx: Math.ceil((y1 - y0) / mmPerPx),
  };
  const placed = photos.map((photo, i) => ({ raster: photo.raster, camera: cameraInReport(cameras[i], shift) }));
  const raster =
    placed.length === 1
      ? colourPlan(placed[0].raster, placed[0].camera, grid, track.railTopMm)
      : await mergePhotos(placed, primary, grid, track.railTopMm);
  const planViewJpeg = await pictureCodec(raster.data, {
    raw: { width: raster.widthPx, height: raster.heightPx, channels: 3 },
  })
    .jpeg({ quality: 86 })
    .toBuffer();
  return {
    planView: {
      widthPx: grid.widthPx,
      heightPx: grid.heightPx,
      mmPerPx,
      originInTable: [x0, y1],
      heightMm: track.railTopMm,
    },
    planViewJpeg: new Uint8Array(planViewJpeg),
  };
}

function cameraInReport(
  camera: Camera,
  shift: { readonly originX: number; readonly originY: number; readonly turnRad: number },
): Camera {
  const c = Math.cos(shift.turnRad);
  const s = Math.sin(shift.turnRad);
  const { rotation: r, translation: t } = camera.cameraFromTable;
  const move = (k: number): number => t[k] + r[3 * k] * shift.originX + r[3 * k + 1] * shift.originY;
  return {
    lens: camera.lens,
    cameraFromTable: { rotation: multiply3(r, [c, s, 0, -s, c, 0, 0, 0, 1]), translation: [move(0), move(1), move(2)] },
  };
}
