import type { Report } from '../contract/report.js';
import { type Box, freePlace } from './label-places.js';
import type { LaidRun, Point, Stroke } from './laid-track.js';
import { type Accessory, accessoryCorners } from './layout-drawing.js';
import type { Sheet } from './sheet.js';

const labelSizePt = 9;
const sideRoomMm = 5;

/** Height that the plan takes when it is drawn `widthMm` wide and at most `mostMm` high. */
export function tablePlanHeightMm(report: Report, runs: readonly LaidRun[], widthMm: number, mostMm: number): number {
  const extent = extentOf(report, runs);
  const scale = scaleFor(extent, widthMm, mostMm);
  return extent.h * scale + 2 * sideRoomMm;
}

/** What is drawn: the table, track as it lies or as planned, named spots, and places for accessories. */
export interface TablePlan {
  readonly report: Report;
  readonly runs: readonly LaidRun[];
  readonly spots: readonly { readonly name: string; readonly at: Point }[];
  readonly accessories: readonly Accessory[];
  /** The picture in words. */
  readonly alt: string;
}

/** Draws the plan into a frame `widthMm` wide and at most `mostMm` high: table edge, names of its sides, centre lines, spots. */
export function drawTablePlan(
  sheet: Sheet,
  x: number,
  y: number,
  widthMm: number,
  mostMm: number,
  plan: TablePlan,
): void {
  const extent = extentOf(plan.report, plan.runs);
  const scale = scaleFor(extent, widthMm, mostMm);
  const left = x + sideRoomMm + (widthMm - 2 * sideRoomMm - extent.w * scale) / 2;
  const top = y + sideRoomMm;
  const onSheet = (p: Point): Point => [left + (p[0] - extent.x) * scale, top + (extent.y + extent.h - p[1]) * scale];
  sheet.figure(plan.alt, () => {
    for (const side of plan.report.table.sides) {
      const style = side.seen === false ? { widthMm: 0.2, grey: 0.4, dashMm: 1 } : { widthMm: 0.45 };
      sheet.stroke([onSheet(side.from), onSheet(side.to)], style);
    }
    drawSides(sheet, plan.report, onSheet, extent);
    const lines = plan.runs.flatMap((run) => run.strokes.flatMap(centreLines)).map((line) => line.map(onSheet));
    for (const line of lines) sheet.stroke(line, { widthMm: 0.9, grey: 0.72 });
    for (const line of lines) sheet.stroke(line, { widthMm: 0.12, grey: 0.25 });
    for (const accessory of plan.accessories) {
      sheet.stroke(accessoryCorners(accessory).map(onSheet), { widthMm: 0.3, dashMm: 0.8 }, true);
    }
    const frame = { x, y, w: widthMm, h: extent.h * scale + 2 * sideRoomMm };
    const spots = [
      ...plan.spots.map((s) => ({ ...s, dot: true })),
      ...plan.accessories.map(accessorySpot),
      ...runSpots(plan.runs),
    ];
    drawSpots(
      sheet,
      spots.map((s) => ({ ...s, at: onSheet(s.at) })),
      frame,
    );
  });
}

function accessorySpot(accessory: Accessory): { name: string; at: Point; dot: boolean } {
  return { name: accessory.name, at: accessory.centre, dot: false };
}

/** Where there are several runs each has its name beside its last curve, or beside what it ends with. */
function runSpots(runs: readonly LaidRun[]): { name: string; at: Point; dot: boolean }[] {
  if (runs.length < 2) return [];
  return runs.flatMap(({ id, strokes }) => {
    const last = strokes.findLast((stroke) => stroke.kind === 'curve') ?? strokes.at(-1);
    const line = last ? centreLines(last)[0] : undefined;
    return line ? [{ name: id, at: line[Math.floor(line.length / 2)], dot: false }] : [];
  });
}

/** Points along the centre rail; a curve as chords of at most 5°, a straight section by section. */
function centreLines(stroke: Stroke): Point[][] {
  if (stroke.kind === 'straight') {
    return stroke.sections.length === 0 ? [[stroke.from, stroke.to]] : stroke.sections.map((s) => [s.from, s.to]);
  }
  const steps = Math.max(2, Math.ceil(Math.abs(stroke.sweepRad) / 0.0873));
  const start = Math.atan2(stroke.from[1] - stroke.centre[1], stroke.from[0] - stroke.centre[0]);
  const radius = Math.hypot(stroke.from[0] - stroke.centre[0], stroke.from[1] - stroke.centre[1]);
  return [
    Array.from({ length: steps + 1 }, (_, i) => {
      const angle = start + (stroke.sweepRad * i) / steps;
      return [stroke.centre[0] + radius * Math.cos(angle), stroke.centre[1] + radius * Math.sin(angle)] as const;
    }),
  ];
}

function drawSides(sheet: Sheet, report: Report, onSheet: (p: Point) => Point, extent: Box): void {
  const middle: Point = [extent.x + extent.w / 2, extent.y + extent.h / 2];
  const [cx, cy] = onSheet(middle);
  for (const side of report.table.sides.filter((s) => s.seen !== false)) {
    const [fx, fy] = onSheet(side.from);
    const [tx, ty] = onSheet(side.to);
    const length = Math.hypot(tx - fx, ty - fy) || 1;
    let nx = (ty - fy) / length;
    let ny = -(tx - fx) / length;
    const mx = (fx + tx) / 2;
    const my = (fy + ty) / 2;
    if (nx * (mx - cx) + ny * (my - cy) < 0) {
      nx = -nx;
      ny = -ny;
    }
    sheet.text(side.name, mx + nx * 2.6 - 5, my + ny * 2.6 - 2, 10, {
      sizePt: 9,
      bold: true,
      align: 'center',
      role: null,
    });
  }
}

interface Spot {
  readonly name: string;
  readonly at: Point;
  readonly dot: boolean;
}

/** Each spot is a black dot with its name at the first place beside it that is still free. */
function drawSpots(sheet: Sheet, spots: readonly Spot[], frame: Box): void {
  const taken: Box[] = spots.map(({ at }) => ({ x: at[0] - 1.2, y: at[1] - 1.2, w: 2.4, h: 2.4 }));
  for (const { name, at, dot } of spots) {
    const shown = sheet.shorten(name, 22, { sizePt: labelSizePt, bold: true });
    const w = sheet.textWidth(shown, { sizePt: labelSizePt, bold: true });
    const box = freePlace(at, w, 3.4, taken, frame);
    taken.push(box);
    const near: Point = [Math.min(Math.max(at[0], box.x), box.x + w), Math.min(Math.max(at[1], box.y), box.y + 3.4)];
    if (Math.hypot(near[0] - at[0], near[1] - at[1]) > 2.5) sheet.stroke([at, near], { widthMm: 0.15 });
    if (dot) sheet.circle(at[0], at[1], 1, 0);
    sheet.rectangle(box.x - 0.3, box.y, w + 0.6, 3.4, 1);
    sheet.line(shown, box.x, box.y - 0.45, w + 1, { sizePt: labelSizePt, bold: true, role: null });
  }
}

function extentOf(report: Report, runs: readonly LaidRun[]): Box {
  const points: Point[] = [...report.table.outline, ...runs.flatMap((run) => run.strokes.flatMap(centreLines).flat())];
  if (points.length === 0) return { x: 0, y: 0, w: 1, h: 1 };
  const xs = points.map((p) => p[0]);
  const ys = points.map((p) => p[1]);
  const x = Math.min(...xs);
  const y = Math.min(...ys);
  return { x, y, w: Math.max(1, Math.max(...xs) - x), h: Math.max(1, Math.max(...ys) - y) };
}

function scaleFor(extent: Box, widthMm: number, mostMm: number): number {
  return Math.min((widthMm - 2 * sideRoomMm) / extent.w, (mostMm - 2 * sideRoomMm) / extent.h);
}
