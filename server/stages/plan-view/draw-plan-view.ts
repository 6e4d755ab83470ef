import type { PlanView } from '../../contract/plan-view.js';
import type { Camera } from '../../geometry/camera.js';
import { multiply3 } from '../../geometry/rotation.js';
import { colourPlan, type PlanGrid } from '../../images/plan-sampling.js';
import type { Raster } from '../../images/raster.js';
import { fastJpeg, pictureCodec } from '../../images/sharp-codec.js';
import type { Photo } from '../../scene/photo.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { mergePhotos } from './merge-photos.js';

/** How much beyond the table's outline is drawn. */
const borderMm = 40;
const mostPx = 3000;

/** Draws the picture from one photo, as `colourPlan` does; several threads may share the work. */
export type DrawPlan = (raster: Raster, camera: Camera, grid: PlanGrid, heightMm: number) => Raster;

/**
 * The picture of the table from straight above, true at the height of the rail top, in the report's table frame. Several
 * photos are put together to one picture; the primary one, from which the runs are taken, is preferred.
 * @param cameras one for each photo, in the frame of the adjustment
 * @param shift from the frame of the adjustment to the report's
 * @param shown places that the picture has to show, report frame
 */
export async function drawPlanView(
  photos: readonly Photo[],
  cameras: readonly Camera[],
  primary: number,
  shift: { readonly originX: number; readonly originY: number; readonly turnRad: number },
  shown: readonly (readonly [number, number])[],
  track: TrackProfile,
  draw: DrawPlan = colourPlan,
): Promise<{ planView: PlanView; raster: Raster }> {
  const x0 = Math.min(...shown.map((p) => p[0])) - borderMm;
  const x1 = Math.max(...shown.map((p) => p[0])) + borderMm;
  const y0 = Math.min(...shown.map((p) => p[1])) - borderMm;
  const y1 = Math.max(...shown.map((p) => p[1])) + borderMm;
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
      ? draw(placed[0].raster, placed[0].camera, grid, track.railTopMm)
      : await mergePhotos(placed, primary, grid, track.railTopMm);
  const planView = {
    widthPx: grid.widthPx,
    heightPx: grid.heightPx,
    mmPerPx,
    originInTable: [x0, y1] as [number, number],
    heightMm: track.railTopMm,
  };
  return { planView, raster };
}

/** Writes the picture as a JPEG file, beside whatever else goes on. */
export async function encodePlanView({ widthPx, heightPx, data }: Raster): Promise<Uint8Array> {
  const raw = { width: widthPx, height: heightPx, channels: 3 } as const;
  return new Uint8Array(
    await pictureCodec(data, { raw })
      .jpeg({ quality: 86, ...fastJpeg })
      .toBuffer(),
  );
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
