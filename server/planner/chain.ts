import type { Report, ReportJoint, ReportRun } from '../contract/report.js';
import type { Estimate } from '../units/estimate.js';
import {
  type BentGap,
  type CurvePiece,
  endTangent,
  type Gap,
  type Link,
  linkBefore,
  linksOf,
  type StraightPiece,
  startTangent,
  sureEnds,
} from './chain-links.js';
import { add, direction, headingOf, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';

/**
 * A run as the planner sees it: curves that keep their shape, and stretches between them whose length may change. All
 * points are in the table frame as measured; a planned layout moves each element as a whole and never turns it.
 */
export interface Chain {
  readonly run: string;
  readonly closed: boolean;
  /** In running order. The first element is the one that holds piece 0. */
  readonly elements: readonly Element[];
  readonly stretches: readonly Stretch[];
  /** Joints of the run, open ones included; what a misclosure of heading is spread over. */
  readonly jointCount: number;
  /** Sum of the curves' sweeps, left positive. */
  readonly sweepRad: number;
  /** Open joints whose two ends no straight piece joins. */
  readonly bentGaps: readonly BentGap[];
  /** Straight pieces of which an end was not seen as a joint: how long the section is that lies there is not sure. */
  readonly doubtful: ReadonlySet<number>;
}

export type Element = CurveElement | StretchElement;

export interface CurveElement {
  readonly kind: 'curve';
  readonly piece: number;
  readonly from: Vec;
  readonly to: Vec;
  readonly centre: Vec;
  readonly radiusMm: number;
  readonly sweepRad: number;
}

export interface StretchElement {
  readonly kind: 'stretch';
  readonly stretch: Stretch;
}

/** A longest row of straight pieces with the open gaps between them and beside it. */
export interface Stretch {
  readonly run: string;
  /** Place among all stretches of the report. */
  readonly index: number;
  /** Indices into the run's pieces, in running order; none where only a gap lies between two curves. */
  readonly pieces: readonly number[];
  /** Measured lengths of those pieces. */
  readonly lengths: readonly Estimate[];
  /** Where those pieces lie. */
  readonly ends: readonly { readonly from: Vec; readonly to: Vec }[];
  /** gaps[k] lies before pieces[k]; the last one lies behind the last piece. */
  readonly gaps: readonly Gap[];
  readonly start: Vec;
  readonly end: Vec;
  readonly headingRad: number;
  readonly along: Vec;
  /** Does the row end at the free end of an open run? */
  readonly startsFree: boolean;
  readonly endsFree: boolean;
  /** How far the measured row bulges to the left and to the right of the line from start to end, at most. */
  readonly bulgeLeftMm: number;
  readonly bulgeRightMm: number;
}

/** Sorts a report's runs into curves and stretches. Cost: pieces × joints. */
export function chainsOf(report: Report): Chain[] {
  const counter = { stretches: 0 };
  return report.runs.filter((run) => run.pieces.length > 0).map((run) => chainOf(run, report.joints, counter));
}

function chainOf(run: ReportRun, joints: readonly ReportJoint[], counter: { stretches: number }): Chain {
  const count = run.pieces.length;
  const links = linksOf(run, joints);
  const sure = sureEnds(run, links);
  const linkCount = run.closed ? count : count - 1;
  const walkFrom = firstPieceOfElementWithPieceZero(run, links);
  const elements: Element[] = [];
  const last: Element[] = [];
  let at = 0;
  while (at < count) {
    const index = (walkFrom + at) % count;
    const before = linkBefore(run, links, index);
    if (before?.gap.open && run.pieces[index].kind === 'curve' && (at > 0 || run.closed)) {
      const previous = (index + count - 1) % count;
      const list = at > 0 ? elements : last;
      if (run.pieces[previous].kind === 'curve') list.push(gapAlone(run, previous, index, before.gap, counter));
    }
    if (run.pieces[index].kind === 'curve') {
      elements.push(curveElement(run.pieces[index] as CurvePiece, index));
      at += 1;
      continue;
    }
    const row = rowFrom(run, links, index, count - at);
    elements.push({ kind: 'stretch', stretch: stretchOf(run, links, row, counter) });
    at += row.length;
  }
  elements.push(...last);
  return {
    run: run.id,
    closed: run.closed,
    elements,
    stretches: elements.flatMap((e) => (e.kind === 'stretch' ? [e.stretch] : [])),
    jointCount: Math.max(1, linkCount),
    bentGaps: links.flatMap((link) => link?.bent ?? []),
    doubtful: new Set(run.pieces.flatMap((piece, i) => (piece.kind === 'straight' && !sure[i] ? [i] : []))),
    sweepRad: run.pieces.reduce((sum, p) => sum + (p.kind === 'curve' ? p.sweepRad : 0), 0),
  };
}

function curveElement(piece: CurvePiece, index: number): CurveElement {
  return {
    kind: 'curve',
    piece: index,
    from: piece.from,
    to: piece.to,
    centre: piece.centre,
    radiusMm: piece.radius.value,
    sweepRad: piece.sweepRad,
  };
}

/** On a closed run piece 0 may lie in the middle of a row: the walk then starts where that row starts. */
function firstPieceOfElementWithPieceZero(run: ReportRun, links: readonly (Link | null)[]): number {
  if (!run.closed || run.pieces[0].kind !== 'straight') return 0;
  const count = run.pieces.length;
  let first = 0;
  for (let step = 0; step < count - 1; step++) {
    const previous = (first + count - 1) % count;
    if (run.pieces[previous].kind !== 'straight' || links[previous]?.hidden) break;
    first = previous;
  }
  return first;
}

function rowFrom(run: ReportRun, links: readonly (Link | null)[], first: number, atMost: number): number[] {
  const count = run.pieces.length;
  const row = [first];
  while (row.length < atMost) {
    const last = row[row.length - 1];
    const next = (last + 1) % count;
    if (run.pieces[next].kind !== 'straight' || !links[last] || links[last]?.hidden) break;
    row.push(next);
  }
  return row;
}

const noGap: Gap = { open: false, length: { value: 0, u: 0 }, joint: null, inside: false };

function stretchOf(
  run: ReportRun,
  links: readonly (Link | null)[],
  row: readonly number[],
  counter: { stretches: number },
): Stretch {
  const pieces = row.map((i) => run.pieces[i] as StraightPiece);
  const count = run.pieces.length;
  const first = row[0];
  const last = row[row.length - 1];
  const linkIn = run.closed || first > 0 ? links[(first + count - 1) % count] : null;
  const linkOut = links[last];
  const openIn = linkIn?.gap.open === true && run.pieces[(first + count - 1) % count].kind === 'curve';
  const openOut = linkOut?.gap.open === true && run.pieces[(last + 1) % count].kind === 'curve';
  const start = openIn ? run.pieces[(first + count - 1) % count].to : pieces[0].from;
  const end = openOut ? run.pieces[(last + 1) % count].from : pieces[pieces.length - 1].to;
  const gaps: Gap[] = [openIn && linkIn ? linkIn.gap : noGap];
  for (let k = 0; k + 1 < row.length; k++) gaps.push(links[row[k]]?.gap ?? noGap);
  gaps.push(openOut && linkOut ? linkOut.gap : noGap);
  const along = alongOf(start, end, pieces);
  const points = pieces.flatMap((p) => [p.from, p.to]);
  const offsets = points.map((p) => (p[0] - start[0]) * -along[1] + (p[1] - start[1]) * along[0]);
  return {
    run: run.id,
    index: counter.stretches++,
    pieces: row,
    lengths: pieces.map((p) => p.length),
    ends: pieces.map((p) => ({ from: p.from, to: p.to })),
    gaps,
    start,
    end,
    headingRad: headingOf(along),
    along,
    startsFree: !run.closed && first === 0,
    endsFree: !run.closed && last === count - 1,
    bulgeLeftMm: Math.max(0, ...offsets),
    bulgeRightMm: Math.max(0, ...offsets.map((o) => -o)),
  };
}

/** Ends of a long row give its heading better than any piece does; of a very short one the pieces know more. */
function alongOf(start: Vec, end: Vec, pieces: readonly StraightPiece[]): Vec {
  const chord = subtract(end, start);
  const sum = pieces.reduce<Vec>((s, p) => add(s, scale(direction(p.headingRad), p.length.value)), [0, 0]);
  const long = lengthOf(chord) >= 20;
  const chosen = long && (lengthOf(sum) === 0 || chord[0] * sum[0] + chord[1] * sum[1] > 0) ? chord : sum;
  const length = lengthOf(chosen);
  return length > 0 ? [chosen[0] / length, chosen[1] / length] : [1, 0];
}

/** An open gap between two curves: a stretch without pieces. */
function gapAlone(run: ReportRun, before: number, after: number, gap: Gap, counter: { stretches: number }): Element {
  const a = run.pieces[before] as CurvePiece;
  const b = run.pieces[after] as CurvePiece;
  const chord = subtract(b.from, a.to);
  const tangent = add(endTangent(a), startTangent(b));
  const base = lengthOf(chord) >= 10 ? chord : tangent;
  const along = scale(base, 1 / lengthOf(base));
  return {
    kind: 'stretch',
    stretch: {
      run: run.id,
      index: counter.stretches++,
      pieces: [],
      lengths: [],
      ends: [],
      gaps: [gap],
      start: a.to,
      end: b.from,
      headingRad: headingOf(along),
      along,
      startsFree: false,
      endsFree: false,
      bulgeLeftMm: 0,
      bulgeRightMm: 0,
    },
  };
}
