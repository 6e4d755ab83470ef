import { alongHidden } from '../../server/contract/along-hidden.js';
import { alongPiece, alongStraight } from '../../server/contract/along-piece.js';
import type { Report } from '../../server/contract/report.js';
import { spacingExtremes } from '../../server/contract/spacing-extremes.js';
import { edgePoint, type MeasuredThing } from './measured-things.js';
import type { PictureFrame } from './picture-frame.js';
import { endFaces, type Pair, railOffsets } from './track-lines.js';
import type { Point } from './view.js';

/** What can be shown and hidden on the picture. */
export const layers = [
  'rails',
  'edge',
  'gaps',
  'clearances',
  'joints',
  'hidden',
  'markers',
  'lengths',
  'profile',
  'coverage',
  'wishes',
  'planned',
  'corrections',
] as const;
export type Layer = (typeof layers)[number];

/** Lines on a picture that belong together, in picture pixels. */
export interface Mark {
  readonly key: string;
  readonly layer: Layer;
  /** The measured thing that it shows, if any. */
  readonly thing: string | null;
  readonly lines: readonly (readonly Point[])[];
  /** Not seen in a picture: worked out, or hidden by something. Drawn dashed. */
  readonly unseen?: boolean;
  /** Closed lines around an area, which is tinted. */
  readonly area?: boolean;
  /** Closed lines around areas that are filled with a tint and not outlined. */
  readonly tint?: number;
}

/** A length to be written beside the thing it measures. */
export interface LabelWish {
  readonly thing: string;
  readonly anchor: Point;
  /** Picture area that the label must not cover. */
  readonly keepFree: readonly Point[];
  /** Smaller is more important. */
  readonly rank: number;
  /** Length of what it names, picture pixels. */
  readonly spanPx: number;
}

/** Draws a report on a picture, everything at its own height: rails at rail top, faces at half head, edges at zero. */
export function marksOf(report: Report, frame: PictureFrame): Mark[] {
  const { railTopMm, headWidthMm } = report.track;
  const draw = new Pen(frame);
  return [
    ...report.table.sides.map((side) => ({
      ...draw.mark(`side ${side.name}`, 'edge', `side:${side.name}`, [draw.line(alongStraight(side.from, side.to), 0)]),
      unseen: side.seen === false,
    })),
    ...report.runs.flatMap((run) =>
      run.pieces.map((piece, i) =>
        draw.mark(
          `rails ${run.id} ${i}`,
          'rails',
          `piece:${run.id}:${i}`,
          railOffsets(report.track).map((offset) => draw.line(alongPiece(piece, offset), railTopMm)),
        ),
      ),
    ),
    ...report.notSeen.map((part, i) =>
      draw.mark(`hidden ${i}`, 'hidden', `hidden:${i}`, [draw.line(closely(alongHidden(report, part)), railTopMm)]),
    ),
    ...report.joints.map((joint) =>
      draw.mark(
        `joint ${joint.id}`,
        joint.open ? 'gaps' : 'joints',
        `joint:${joint.id}`,
        endFaces(report, joint).map((face) => draw.line(face, railTopMm)),
      ),
    ),
    ...report.clearances.map((clearance, i) =>
      draw.mark(`clearance ${i}`, 'clearances', `clearance:${i}`, [
        draw.slope(clearance.at, railTopMm - headWidthMm / 2, edgePoint(report, clearance), 0),
      ]),
    ),
    ...spacingExtremes(report)
      .flatMap(({ narrowest, widest }) => (widest === null ? [narrowest] : [narrowest, widest]))
      .map((i) =>
        draw.mark(`spacing ${i}`, 'clearances', `spacing:${i}`, [
          draw.line(spacingEnds(report, report.spacings[i]), railTopMm),
        ]),
      ),
    ...report.profile.map((point, i) => draw.spot(`profile ${i}`, `profile:${i}`, point.at, railTopMm)),
    ...report.markers.map((marker) =>
      draw.mark(`marker ${marker.id}`, 'markers', null, [draw.line([...marker.corners, marker.corners[0]], 0)]),
    ),
  ].filter((mark) => mark.lines.length > 0);
}

/** The line from rail to edge at one point of the profile, drawn only while that point is chosen. */
export function profileMark(report: Report, frame: PictureFrame, index: number): Mark | null {
  const point = report.profile[index];
  if (!point) return null;
  const faceMm = report.track.railTopMm - report.track.headWidthMm / 2;
  const line = new Pen(frame).slope(point.at, faceMm, edgePoint(report, point), 0);
  return line.length > 1
    ? { key: 'profile line', layer: 'clearances', thing: `profile:${index}`, lines: [line] }
    : null;
}

/** Where one clearance is the tightest of all it matters most. */
const tightestRank = 0.5;

/** Which lengths are written on the picture, and where; of clearances the tighter ones first. */
export function labelWishes(
  marks: readonly Mark[],
  things: readonly MeasuredThing[],
  chosen: string | null,
): LabelWish[] {
  const ranks: Partial<Record<MeasuredThing['kind'], number>> = {
    gap: 1,
    clearance: 2,
    spacing: 3,
    side: 4,
    curve: 6,
    straight: 6,
  };
  const wishes: LabelWish[] = [];
  const clearances = things.filter(({ kind }) => kind === 'clearance');
  const tightest = Math.min(...clearances.map(({ length }) => length.value));
  const byRoom = [...clearances].sort((a, b) => a.length.value - b.length.value);
  const inOrder = [...byRoom, ...things.filter(({ kind }) => kind !== 'clearance')];
  for (const thing of inOrder) {
    const mark = marks.find((m) => m.thing === thing.id);
    const isTightest = thing.kind === 'clearance' && thing.length.value === tightest;
    const rank = thing.id === chosen ? 0 : isTightest ? tightestRank : ranks[thing.kind];
    if (!mark || rank === undefined) continue;
    const points = mark.lines.flat();
    const isGap = thing.kind === 'gap' || thing.kind === 'joint';
    wishes.push({
      thing: thing.id,
      rank,
      spanPx: lengthOf(mark.lines[0]),
      anchor: middle(points, isGap),
      keepFree: isGap ? points : [],
    });
  }
  return wishes.sort((a, b) => a.rank - b.rank);
}

/** Length of a line, picture pixels. */
function lengthOf(line: readonly Point[]): number {
  return line.reduce((sum, p, i) => (i === 0 ? 0 : sum + Math.hypot(p.x - line[i - 1].x, p.y - line[i - 1].y)), 0);
}

/** The lines of a gap lie around its middle; other lines are named at a point of the line itself. */
function middle(points: readonly Point[], between: boolean): Point {
  if (!between) return points[Math.floor(points.length / 2)];
  const sum = points.reduce((s, p) => ({ x: s.x + p.x, y: s.y + p.y }), { x: 0, y: 0 });
  return { x: sum.x / points.length, y: sum.y / points.length };
}

/** A spacing is measured square to the track at `at`: drawn from there to the nearest point of the other run. */
function spacingEnds(report: Report, spacing: Report['spacings'][number]): Pair[] {
  const lines = spacing.runs.map(
    (id) => report.runs.find((r) => r.id === id)?.pieces.flatMap((p) => alongPiece(p, 0)) ?? [],
  );
  const near = lines.map((line) => nearest(line, spacing.at));
  const [a, b] = near;
  if (!a || !b) return [];
  const from = distance(a, spacing.at) <= distance(b, spacing.at) ? a : b;
  const other = from === a ? lines[1] : lines[0];
  return [from, nearest(other, from) ?? from];
}

function nearest(line: readonly Pair[], to: Pair): Pair | null {
  let best: Pair | null = null;
  for (const p of line) if (!best || distance(p, to) < distance(best, to)) best = p;
  return best;
}

function distance(a: Pair, b: Pair): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

class Pen {
  constructor(private readonly frame: PictureFrame) {}

  line(points: readonly Pair[], zMm: number): Point[] {
    return this.visible(points.map((p) => this.frame.pictureFromTable(p[0], p[1], zMm)));
  }

  /** A line whose ends have different heights. */
  slope(from: Pair, fromZ: number, to: Pair, toZ: number): Point[] {
    const points = alongStraight(from, to);
    return this.visible(
      points.map((p, i) => this.frame.pictureFromTable(p[0], p[1], fromZ + ((toZ - fromZ) * i) / (points.length - 1))),
    );
  }

  mark(key: string, layer: Layer, thing: string | null, lines: Point[][]): Mark {
    return { key, layer, thing, lines: lines.filter((line) => line.length > 1) };
  }

  /** A place that can be tapped but is not drawn. */
  spot(key: string, thing: string, at: Pair, zMm: number): Mark {
    const p = this.line([at], zMm)[0];
    return { key, layer: 'profile', thing, lines: p ? [[p, p]] : [] };
  }

  private visible(points: readonly (Point | null)[]): Point[] {
    return points.filter((p): p is Point => p !== null && Number.isFinite(p.x) && Number.isFinite(p.y));
  }
}

/** The same line through as many points as lens bending asks for. */
function closely(points: readonly Pair[]): Pair[] {
  return points.slice(1).flatMap((to, i) => alongStraight(points[i], to));
}
