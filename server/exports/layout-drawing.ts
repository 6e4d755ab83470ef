import { alongHidden } from '../contract/along-hidden.js';
import { jointName } from '../contract/joint-names.js';
import type { Plan } from '../contract/plan.js';
import type { Report, ReportSide } from '../contract/report.js';
import { formatEstimate, type LengthStyle } from '../units/format-length.js';
import type { Drawing, DrawingPoint, Layer, Shape } from './drawing.js';
import { type CurveStroke, type LaidRun, laidTrack, type StraightSection } from './laid-track.js';

/** A place for a thing beside the track: a rectangle in the table frame, millimetres and radians. */
export interface Accessory {
  readonly name: string;
  readonly centre: DrawingPoint;
  readonly widthMm: number;
  readonly depthMm: number;
  readonly angleRad: number;
}

export interface LayoutDrawingOptions {
  readonly style: LengthStyle;
  readonly accessories: readonly Accessory[];
}

const layers: readonly Layer[] = [
  { name: 'table-edge', strokeMm: 2, colourIndex: 7, grey: 0 },
  { name: 'rails', strokeMm: 1.2, colourIndex: 8, grey: 0.35 },
  { name: 'centre-lines', strokeMm: 0.6, colourIndex: 5, grey: 0.55 },
  { name: 'fillers', strokeMm: 1.6, colourIndex: 1, grey: 0 },
  { name: 'open-gaps', strokeMm: 1.6, colourIndex: 1, grey: 0 },
  { name: 'accessories', strokeMm: 1.2, colourIndex: 3, grey: 0.2 },
  { name: 'not-seen', strokeMm: 1.2, colourIndex: 6, grey: 0.6 },
  { name: 'labels', strokeMm: 0.4, colourIndex: 7, grey: 0 },
];

const labelHeightMm = 14;

/**
 * The layout seen from above, table frame, in layers: as measured, or as planned where a plan is given. Rails are the
 * middles of the two outer rail heads; fillers and open gaps are their outlines between the outside faces.
 */
export function layoutDrawing(report: Report, plan: Plan | null, options: LayoutDrawingOptions): Drawing {
  const shapes: Shape[] = [];
  shapes.push(...tableEdge(report));
  for (const side of report.table.sides.filter((s) => s.seen !== false))
    shapes.push(sideLabel(side, report, options.style));
  const offsetMm = (report.track.gaugeMm + report.track.headWidthMm) / 2;
  const faceMm = report.track.gaugeMm / 2 + report.track.headWidthMm;
  for (const run of laidTrack(report, plan)) shapes.push(...runShapes(run, offsetMm, faceMm));
  if (plan === null) shapes.push(...gapShapes(report, faceMm, options.style));
  for (const hidden of report.notSeen) shapes.push(...hiddenShapes(report, alongHidden(report, hidden), faceMm));
  for (const accessory of options.accessories) shapes.push(...accessoryShapes(accessory));
  return { title: plan === null ? 'The layout as measured' : 'The layout as planned', layers, shapes };
}

/** One closed line where every edge of the outline is a side that was seen; else each side by itself in its layer. */
function tableEdge(report: Report): Shape[] {
  const { outline, sides } = report.table;
  const near = (a: DrawingPoint, b: DrawingPoint): boolean => Math.hypot(a[0] - b[0], a[1] - b[1]) < 1;
  const isSide = (from: DrawingPoint, to: DrawingPoint): boolean =>
    sides.some((s) => s.seen !== false && near(s.from, from) && near(s.to, to));
  if (outline.length > 2 && outline.every((p, i) => isSide(p, outline[(i + 1) % outline.length]))) {
    return [{ kind: 'polyline', layer: 'table-edge', closed: true, points: outline }];
  }
  return sides.map(({ seen, from, to }) => ({
    kind: 'line',
    layer: seen === false ? 'not-seen' : 'table-edge',
    from,
    to,
  }));
}

function runShapes(run: LaidRun, offsetMm: number, faceMm: number): Shape[] {
  return run.strokes.flatMap((stroke) => {
    if (stroke.kind === 'curve') return curveShapes(stroke, offsetMm);
    return stroke.sections.flatMap((section) => sectionShapes(section, offsetMm, faceMm));
  });
}

function curveShapes(curve: CurveStroke, offsetMm: number): Shape[] {
  const startRad = Math.atan2(curve.from[1] - curve.centre[1], curve.from[0] - curve.centre[0]);
  const arc = (layer: string, radiusMm: number): Shape => ({
    kind: 'arc',
    layer,
    centre: curve.centre,
    radiusMm,
    startRad,
    sweepRad: curve.sweepRad,
  });
  return [
    arc('rails', curve.radiusMm - offsetMm),
    arc('rails', curve.radiusMm + offsetMm),
    arc('centre-lines', curve.radiusMm),
  ];
}

function sectionShapes(section: StraightSection, offsetMm: number, faceMm: number): Shape[] {
  const shapes: Shape[] = [
    { kind: 'line', layer: 'centre-lines', from: section.from, to: section.to },
    ...[-offsetMm, offsetMm].map((by): Shape => {
      const [from, to] = beside(section.from, section.to, by);
      return { kind: 'line', layer: 'rails', from, to };
    }),
  ];
  if (section.filler !== null) {
    shapes.push({ kind: 'polyline', layer: 'fillers', closed: true, points: box(section.from, section.to, faceMm) });
    shapes.push(label(middleOf(beside(section.from, section.to, faceMm + labelHeightMm)), section.filler, true));
  }
  return shapes;
}

/** The line lies on the centre line and would not be noticed: so words stand beside it, towards the middle of the table. */
function hiddenShapes(report: Report, points: readonly DrawingPoint[], faceMm: number): Shape[] {
  const half = Math.floor(points.length / 2);
  const [before, behind] = [points[half - 1], points[half]];
  const [x, y] = middleOfOutline(report);
  const [left, right] = [-1, 1].map((way) => middleOf(beside(before, behind, way * (faceMm + 4 * labelHeightMm))));
  const isLeft = Math.hypot(left[0] - x, left[1] - y) < Math.hypot(right[0] - x, right[1] - y);
  return [
    { kind: 'polyline', layer: 'not-seen', closed: false, points },
    label(isLeft ? left : right, 'not seen', true),
  ];
}

/** Open gaps as boxes as long as measured, along the heading of the track beside them. */
function gapShapes(report: Report, faceMm: number, style: LengthStyle): Shape[] {
  return report.joints
    .filter((joint) => joint.open)
    .flatMap((joint) => {
      const heading = headingAt(report, joint.run, joint.at);
      const half: DrawingPoint = [(Math.cos(heading) * joint.gap.value) / 2, (Math.sin(heading) * joint.gap.value) / 2];
      const from: DrawingPoint = [joint.at[0] - half[0], joint.at[1] - half[1]];
      const to: DrawingPoint = [joint.at[0] + half[0], joint.at[1] + half[1]];
      return [
        { kind: 'polyline', layer: 'open-gaps', closed: true, points: box(from, to, faceMm) } as const,
        label(
          middleOf(beside(from, to, faceMm + labelHeightMm)),
          `${jointName(report, joint.id)}: ${formatEstimate(joint.gap, style)}`,
          true,
        ),
      ];
    });
}

/** Heading of the piece of the run whose end is nearest. */
function headingAt(report: Report, runId: string, at: DrawingPoint): number {
  let best = { mm: Infinity, rad: 0 };
  for (const piece of report.runs.find((r) => r.id === runId)?.pieces ?? []) {
    for (const end of [piece.from, piece.to]) {
      const mm = Math.hypot(end[0] - at[0], end[1] - at[1]);
      if (mm >= best.mm) continue;
      if (piece.kind === 'straight') {
        best = { mm, rad: piece.headingRad };
      } else {
        const turn = Math.sign(piece.sweepRad) * (Math.PI / 2);
        best = { mm, rad: Math.atan2(end[1] - piece.centre[1], end[0] - piece.centre[0]) + turn };
      }
    }
  }
  return best.rad;
}

function accessoryShapes(accessory: Accessory): Shape[] {
  return [
    { kind: 'polyline', layer: 'accessories', closed: true, points: accessoryCorners(accessory) },
    label(accessory.centre, accessory.name, true),
  ];
}

/** Corners of an accessory, counter-clockwise from its lower left one in its own frame. */
export function accessoryCorners(accessory: Accessory): DrawingPoint[] {
  const c = Math.cos(accessory.angleRad);
  const s = Math.sin(accessory.angleRad);
  const signs: DrawingPoint[] = [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ];
  return signs.map(([sx, sy]) => {
    const x = (sx * accessory.widthMm) / 2;
    const y = (sy * accessory.depthMm) / 2;
    return [accessory.centre[0] + c * x - s * y, accessory.centre[1] + s * x + c * y];
  });
}

/** The line moved to its left. */
function beside(from: DrawingPoint, to: DrawingPoint, byMm: number): [DrawingPoint, DrawingPoint] {
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const n: DrawingPoint = [(-(to[1] - from[1]) / length) * byMm, ((to[0] - from[0]) / length) * byMm];
  return [
    [from[0] + n[0], from[1] + n[1]],
    [to[0] + n[0], to[1] + n[1]],
  ];
}

function box(from: DrawingPoint, to: DrawingPoint, halfMm: number): DrawingPoint[] {
  const [leftFrom, leftTo] = beside(from, to, halfMm);
  const [rightFrom, rightTo] = beside(from, to, -halfMm);
  return [rightFrom, rightTo, leftTo, leftFrom];
}

function middleOf([a, b]: readonly [DrawingPoint, DrawingPoint]): DrawingPoint {
  return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
}

/** The side's name and length outside of the table, clear of the edge. */
function sideLabel(side: ReportSide, report: Report, style: LengthStyle): Shape {
  const text = `${side.name} ${formatEstimate(side.length, style)}`;
  const middle: DrawingPoint = [(side.from[0] + side.to[0]) / 2, (side.from[1] + side.to[1]) / 2];
  const [inX, inY] = middleOfOutline(report);
  const length = Math.hypot(side.to[0] - side.from[0], side.to[1] - side.from[1]) || 1;
  const square: DrawingPoint = [(side.to[1] - side.from[1]) / length, -(side.to[0] - side.from[0]) / length];
  const out = square[0] * (middle[0] - inX) + square[1] * (middle[1] - inY) < 0 ? -1 : 1;
  const halfWidthMm = text.length * labelHeightMm * 0.45;
  const awayMm = labelHeightMm + Math.abs(square[0]) * halfWidthMm;
  return label([middle[0] + square[0] * out * awayMm, middle[1] + square[1] * out * awayMm], text, true);
}

function middleOfOutline(report: Report): DrawingPoint {
  const points = report.table.outline.length > 0 ? report.table.outline : report.table.sides.map((s) => s.from);
  const sum = points.reduce<DrawingPoint>((a, p) => [a[0] + p[0], a[1] + p[1]], [0, 0]);
  return [sum[0] / points.length, sum[1] / points.length];
}

/** @param at the middle of the text's height, at its left end or its middle */
function label(at: DrawingPoint, text: string, middle: boolean): Shape {
  return {
    kind: 'text',
    layer: 'labels',
    at: [at[0], at[1] - labelHeightMm / 2],
    heightMm: labelHeightMm,
    text,
    middle,
  };
}
