import type { Plan } from '../contract/plan.js';
import type { LengthStyle } from '../units/format-length.js';
import { drawingSvg } from './drawing-svg.js';
import { stripDrawing } from './strip-drawing.js';

/** The donors' strips with marks and kerfs as SVG at true size, millimetres. */
export function cutSheetSvg(plan: Plan, style: LengthStyle): string {
  return drawingSvg(stripDrawing(plan, style));
}
