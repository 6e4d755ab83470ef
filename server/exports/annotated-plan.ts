import sharp from 'sharp';
import { gapToldBy } from '../contract/gap-readings.js';
import { styleToldBy, toldWords } from '../contract/gap-words.js';
import { jointName } from '../contract/joint-names.js';
import type { Plan } from '../contract/plan.js';
import type { PlanView } from '../contract/plan-view.js';
import type { Report, ReportJoint } from '../contract/report.js';
import { cameraCentreInTable } from '../geometry/camera.js';
import { formatEstimate, formatLength, type LengthStyle } from '../units/format-length.js';
import { arcPoints, type Drawing, type DrawingPoint, type Shape } from './drawing.js';
import { type Box, freePlace } from './label-places.js';
import { type LayoutDrawingOptions, layoutDrawing } from './layout-drawing.js';
import { textPath } from './text-paths.js';

/** Colours that stay apart on wood, foam and paint, each drawn over a white rim; strokes in shares of the type size. */
const inks: Record<string, { readonly colour: string; readonly stroke: number; readonly dash?: string }> = {
  'table-edge': { colour: '#0b3d91', stroke: 0.2 },
  rails: { colour: '#444444', stroke: 0.08 },
  'centre-lines': { colour: '#0a7d33', stroke: 0.12 },
  fillers: { colour: '#b00020', stroke: 0.2 },
  'open-gaps': { colour: '#b00020', stroke: 0.2 },
  accessories: { colour: '#5b2a86', stroke: 0.15 },
  'not-seen': { colour: '#7a4b00', stroke: 0.2, dash: '1 0.6' },
  clearances: { colour: '#0b3d91', stroke: 0.14 },
};

/**
 * The plan view picture with table edge, centre lines, gaps or fillers, clearances and their lengths drawn on it, as PNG
 * of the same size. Track as measured; where a plan is given its fillers are named at the gaps that they close.
 * @param picture the stored plan view (JPEG or PNG), `view` says where it lies in the table frame
 */
export async function annotatedPlanPng(
  report: Report,
  plan: Plan | null,
  view: PlanView,
  picture: Uint8Array,
  options: LayoutDrawingOptions,
): Promise<Uint8Array> {
  const overlay = Buffer.from(overlaySvg(report, plan, view, options));
  const png = await sharp(picture)
    .resize(view.widthPx, view.heightPx, { fit: 'fill' })
    .composite([{ input: overlay, top: 0, left: 0 }])
    .png({ compressionLevel: 8 })
    .toBuffer();
  return new Uint8Array(png);
}

/** The overlay alone, one unit a picture element, centres of picture elements at whole numbers. */
export function overlaySvg(report: Report, plan: Plan | null, view: PlanView, options: LayoutDrawingOptions): string {
  const type = Math.max(11, Math.min(view.widthPx, view.heightPx * 1.8) / 80);
  const onPicture = (p: DrawingPoint): DrawingPoint => [
    (p[0] - view.originInTable[0]) / view.mmPerPx,
    (view.originInTable[1] - p[1]) / view.mmPerPx,
  ];
  const ground = groundInPlan(report, view);
  const drawing = onGround(layoutDrawing(report, null, options), ground);
  const strokes = [...strokesOf(drawing), ...clearanceStrokes(report, ground)].map((s) =>
    strokeSvg(s, type, view, onPicture),
  );
  const placed = labelsOf(report, plan, options, ground).map((l) => ({ text: l.text, at: onPicture(l.at) }));
  const labels = labelsSvg(placed, boxesOf(drawing, onPicture), type, view);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${view.widthPx}" height="${view.heightPx}" viewBox="-0.5 -0.5 ${view.widthPx} ${view.heightPx}">`,
    ...strokes,
    ...labels,
    '</svg>',
  ].join('\n');
}

/** Where a point on the table top shows in the plan view, which is true at the height of the rails. */
type Ground = (p: DrawingPoint) => DrawingPoint;

/**
 * With one photo: where the ray from the camera through the point meets the height of the plan view. With several it is
 * not said which one shows a place: the point stays where it truly is.
 */
function groundInPlan(report: Report, view: PlanView): Ground {
  const [photo, second] = report.photos;
  if (photo === undefined || second !== undefined) return (p) => p;
  const { rotation, translation: t } = photo.camera;
  const [x, y, z] = cameraCentreInTable({ rotation: rotation.flat(), translation: [t[0], t[1], t[2]] });
  const share = view.heightMm / z;
  return (p) => [p[0] + (x - p[0]) * share, p[1] + (y - p[1]) * share];
}

const groundLayers: readonly string[] = ['table-edge', 'accessories'];

/** Moves what lies on the table top to where the picture shows it. */
function onGround(drawing: Drawing, ground: Ground): Drawing {
  const shapes = drawing.shapes.map((shape): Shape => {
    if (!groundLayers.includes(shape.layer)) return shape;
    if (shape.kind === 'line') return { ...shape, from: ground(shape.from), to: ground(shape.to) };
    return shape.kind === 'polyline' ? { ...shape, points: shape.points.map(ground) } : shape;
  });
  return { ...drawing, shapes };
}

/** Rails are seen in the picture itself; everything else is drawn. */
function strokesOf(drawing: Drawing): Exclude<Shape, { kind: 'text' }>[] {
  return drawing.shapes.flatMap((s) => (s.kind === 'text' || s.layer === 'rails' ? [] : [s]));
}

function clearanceStrokes(report: Report, ground: Ground): Exclude<Shape, { kind: 'text' }>[] {
  return nearestClearances(report).flatMap((c) =>
    c.edgeAt === undefined ? [] : [{ kind: 'line', layer: 'clearances', from: c.at, to: ground(c.edgeAt) } as const],
  );
}

/** The smallest clearance of each side. */
function nearestClearances(report: Report): Report['clearances'] {
  return report.clearances.filter((c) =>
    report.clearances.every((o) => o.side !== c.side || o === c || o.distance.value > c.distance.value),
  );
}

function strokeSvg(
  shape: Exclude<Shape, { kind: 'text' }>,
  type: number,
  view: PlanView,
  onPicture: (p: DrawingPoint) => DrawingPoint,
): string {
  const ink = inks[shape.layer] ?? { colour: '#000000', stroke: 0.1 };
  const width = Math.max(1, ink.stroke * type);
  const outline = outlineOf(shape, onPicture, view);
  const dash =
    ink.dash === undefined
      ? ''
      : ` stroke-dasharray="${ink.dash
          .split(' ')
          .map((n) => num(Number(n) * type))
          .join(' ')}"`;
  return (
    `<g fill="none" stroke-linejoin="round">` +
    `<path d="${outline}" stroke="#ffffff" stroke-opacity="0.75" stroke-width="${num(width * 2)}"/>` +
    `<path d="${outline}" stroke="${ink.colour}" stroke-width="${num(width)}"${dash}/></g>`
  );
}

function outlineOf(
  shape: Exclude<Shape, { kind: 'text' }>,
  onPicture: (p: DrawingPoint) => DrawingPoint,
  view: PlanView,
): string {
  const path = (points: readonly DrawingPoint[], closed: boolean) =>
    `${points.map((p, i) => `${i === 0 ? 'M' : 'L'} ${onPicture(p).map(num).join(' ')}`).join(' ')}${closed ? ' Z' : ''}`;
  switch (shape.kind) {
    case 'line':
      return path([shape.from, shape.to], false);
    case 'polyline':
      return path(shape.points, shape.closed);
    case 'arc': {
      const pxLong = (Math.abs(shape.sweepRad) * shape.radiusMm) / view.mmPerPx;
      return path(arcPoints(shape, Math.max(4, Math.min(200, Math.ceil(pxLong / 6)))), false);
    }
    case 'circle': {
      const whole = { ...shape, kind: 'arc', startRad: 0, sweepRad: 2 * Math.PI } as const;
      return path(arcPoints(whole, 48), true);
    }
  }
}

interface PlacedLabel {
  readonly text: string;
  readonly at: DrawingPoint;
}

/** Gaps come first: they get the best places. */
function labelsOf(report: Report, plan: Plan | null, options: LayoutDrawingOptions, ground: Ground): PlacedLabel[] {
  const { style } = options;
  const gaps = report.joints
    .filter((j) => j.open)
    .map((joint) => {
      const filler = plan?.fillers.find((f) => f.joint === joint.id);
      const measured = gapInWords(joint, report, plan, style);
      const text =
        filler === undefined ? measured : `${measured} → ${filler.id} ${formatLength(filler.lengthMm, style)}`;
      return { text, at: joint.at };
    });
  const clearances = nearestClearances(report).map((c) => ({
    text: `to ${c.side} ${formatEstimate(c.distance, style)}`,
    at: c.edgeAt === undefined ? c.at : ([(c.at[0] + c.edgeAt[0]) / 2, (c.at[1] + c.edgeAt[1]) / 2] as const),
  }));
  const sides = report.table.sides
    .filter((s) => s.seen !== false)
    .map((s) => ({
      text: `side ${s.name} ${formatEstimate(s.length, style)}`,
      at: ground([s.from[0] + (s.to[0] - s.from[0]) * 0.25, s.from[1] + (s.to[1] - s.from[1]) * 0.25]),
    }));
  const accessories = options.accessories.map((a) => ({ text: a.name, at: ground(a.centre) }));
  return [...gaps, ...clearances, ...accessories, ...sides];
}

/** `Gap 2: 2 3/16 in ± 0.02 in`, or where a rule was laid: `Gap 2 by the rule: 2 5/32 in ± 0.03 in`. */
function gapInWords({ id, gap }: ReportJoint, report: Report, plan: Plan | null, style: LengthStyle): string {
  const ruled = plan?.byRule?.find(({ joint }) => joint === id);
  const toldBy = gapToldBy(ruled);
  const length = ruled?.length ?? gap;
  const name = `${jointName(report, id)} ${toldWords[toldBy]}`.trimEnd();
  return `${name}: ${formatEstimate(length, styleToldBy(toldBy, length.value, style))}`;
}

/** Texts on white plates beside their places, inside the picture and clear of the gaps and of each other. */
function labelsSvg(labels: readonly PlacedLabel[], taken: readonly Box[], type: number, view: PlanView): string[] {
  const pad = type * 0.25;
  const frame = { x: pad, y: pad, w: view.widthPx - 2 * pad, h: view.heightPx - 2 * pad };
  const used = [...taken];
  return labels.map(({ text, at }) => {
    const letters = textPath(text, type);
    const plate = freePlace(at, letters.width + 2 * pad, type * 1.05 + 2 * pad, used, frame, type * 0.25);
    used.push(plate);
    const place = `x="${num(plate.x)}" y="${num(plate.y)}" width="${num(plate.w)}" height="${num(plate.h)}"`;
    return (
      `<rect ${place} rx="${num(pad)}" fill="#ffffff" fill-opacity="0.85"/>` +
      `<path transform="translate(${num(plate.x + pad)} ${num(plate.y + pad + type * 0.8)})" d="${letters.data}" fill="#111111"/>`
    );
  });
}

/** Outlines of gaps and accessories in the picture: labels must not hide them. */
function boxesOf(drawing: Drawing, onPicture: (p: DrawingPoint) => DrawingPoint): Box[] {
  return drawing.shapes.flatMap((shape) => {
    if (shape.kind !== 'polyline' || (shape.layer !== 'open-gaps' && shape.layer !== 'accessories')) return [];
    const points = shape.points.map(onPicture);
    const x = Math.min(...points.map((p) => p[0]));
    const y = Math.min(...points.map((p) => p[1]));
    return [{ x, y, w: Math.max(...points.map((p) => p[0])) - x, h: Math.max(...points.map((p) => p[1])) - y }];
  });
}

function num(value: number): string {
  return String(Number(value.toFixed(2)) + 0);
}
