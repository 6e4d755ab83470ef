import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { drawingDxf } from './drawing-dxf.js';
import { drawingSvg } from './drawing-svg.js';
import { type LayoutDrawingOptions, layoutDrawing } from './layout-drawing.js';

/** The layout (as planned where a plan is given, else as measured) as SVG at true size, millimetres, a group a layer. */
export function layoutSvg(report: Report, plan: Plan | null, options: LayoutDrawingOptions): string {
  return drawingSvg(layoutDrawing(report, plan, options));
}

/** The same as DXF in the user's unit: layers table-edge, rails, centre-lines, fillers, open-gaps, accessories, … */
export function layoutDxf(report: Report, plan: Plan | null, options: LayoutDrawingOptions): string {
  return drawingDxf(layoutDrawing(report, plan, options), options.style.unit);
}
