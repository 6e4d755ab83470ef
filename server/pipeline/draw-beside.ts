import { cellRows } from '../images/plan-sampling.js';
import { sharedBytes } from '../images/spare-memory.js';
import type { DrawPlan } from '../stages/plan-view/draw-plan-view.js';
import type { SecondThread } from './second-thread.js';

/** Draws the coloured plan of one photo in both threads. */
export function drawInTwo(thread: SecondThread): DrawPlan {
  return (raster, camera, grid, heightMm) => {
    const { widthPx, heightPx } = grid;
    const out = sharedBytes(widthPx * heightPx * 3);
    thread.share('colour-plan', { raster, camera, grid, heightMm, out }, cellRows(grid));
    return { widthPx, heightPx, channels: 3, data: out };
  };
}
