import type { Plan } from '../contract/plan.js';
import type { LengthStyle } from '../units/format-length.js';
import { drawingDxf } from './drawing-dxf.js';
import { stripDrawing } from './strip-drawing.js';

/** The donors' strips with marks and kerfs as DXF in the user's unit; layers donors, marks, kerfs, labels, check-bars. */
export function cutSheetDxf(plan: Plan, style: LengthStyle): string {
  return drawingDxf(stripDrawing(plan, style), style.unit);
}
