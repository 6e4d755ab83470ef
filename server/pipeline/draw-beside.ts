import { cellRows, fillColourPlan } from '../images/plan-sampling.js';
import type { DrawPlan } from '../stages/plan-view/draw-plan-view.js';
import type { SecondThread } from './second-thread.js';

/** Draws the coloured plan of one photo, the lower half of it in the second thread. */
export function drawInTwo(thread: SecondThread, signal?: AbortSignal): DrawPlan {
  return async (raster, camera, grid, heightMm) => {
    const data = new Uint8Array(new SharedArrayBuffer(grid.widthPx * grid.heightPx * 3));
    const rows = cellRows(grid);
    const half = rows >> 1;
    const lower = thread.run('colour-plan', [raster, camera, grid, heightMm, data, half, rows], signal);
    fillColourPlan(raster, camera, grid, heightMm, data, 0, half);
    await lower;
    return { widthPx: grid.widthPx, heightPx: grid.heightPx, channels: 3, data };
  };
}
