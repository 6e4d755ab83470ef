import type { Chain } from './chain.js';
import { type Layout, layoutParts, type Part, type Segment } from './layout-parts.js';
import { add, leftOf, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';
import { type Arc, placeOn, type Stroke, sharesAlong } from './track-line.js';

/**
 * A short convex piece of the track's strip, as the linear program sees it: a hull of round dots whose middles lie on
 * the centre line and move with their part.
 */
export interface TrackSpan {
  readonly chain: number;
  /** Place of its part in the chain, and its own place along the run. */
  readonly part: number;
  readonly order: number;
  readonly dots: readonly TrackDot[];
  /** Its centre line as measured; the two ends lie behind these numbers of segments. */
  readonly stroke: Stroke;
  readonly endsAfter: readonly [number, number];
  /** Square to the span's chord, to the left. */
  readonly left: Vec;
  /** Which segment it is, where its two ends move differently. */
  readonly segment: number | null;
}

export interface TrackDot {
  /** Segments of the run that lie before it. */
  readonly after: number;
  readonly measured: Vec;
  readonly radiusMm: number;
}

/** Arcs are cut into spans of at most 7.5°, so that a span is nearly straight: 0.8 mm of bow at a radius of 381 mm. */
const spanSweepRad = Math.PI / 24;

export function trackSpans(layout: Layout, faceMm: number): TrackSpan[] {
  return layout.chains.flatMap((chain, c) => {
    const spans: TrackSpan[] = [];
    chain.parts.forEach((part, p) => {
      for (const piece of spansOf(part, faceMm)) spans.push({ ...piece, chain: c, part: p, order: spans.length });
    });
    return spans;
  });
}

/** Spans of the track as measured, where nothing is to change. */
export function measuredSpans(chains: readonly Chain[], faceMm: number): TrackSpan[] {
  const asItLies = { jointAllowanceMm: 0, stays: () => false, keepsGroups: () => true, keepsPiece: () => true };
  return trackSpans(layoutParts(chains, asItLies), faceMm);
}

type Bare = Omit<TrackSpan, 'chain' | 'part' | 'order'>;

function spansOf(part: Part, faceMm: number): Bare[] {
  const { after } = part;
  if (part.kind === 'curve') {
    const { from, centre, sweepRad } = part.curve;
    return arcSpans({ kind: 'arc', from, centre, sweepRad }, after, faceMm);
  }
  if (part.kind === 'fixed') {
    const { stretch, pieces } = part.group;
    const from = stretch.ends[pieces[0]].from;
    const to = stretch.ends[pieces[pieces.length - 1]].to;
    const startsFree = stretch.startsFree && pieces[0] === 0;
    const endsFree = stretch.endsFree && pieces[pieces.length - 1] === stretch.pieces.length - 1;
    const left = leftOf(unit(subtract(to, from)));
    const dots = [...endDots(from, after, left, startsFree, faceMm), ...endDots(to, after, left, endsFree, faceMm)];
    return [{ dots, stroke: { kind: 'line', from, to }, endsAfter: [after, after], left, segment: null }];
  }
  const { segment } = part;
  const { stretch } = segment;
  const left = leftOf(stretch.along);
  const startsFree = stretch.startsFree && segment.pieces[0] === 0;
  const endsFree = stretch.endsFree && segment.pieces[segment.pieces.length - 1] === stretch.pieces.length - 1;
  const dots = [
    ...endDots(segment.start, after, left, startsFree, faceMm),
    ...bowDots(segment, after, left, faceMm),
    ...endDots(segment.end, after + 1, left, endsFree, faceMm),
  ];
  const line: Stroke = { kind: 'line', from: segment.start, to: segment.end };
  return [{ dots, stroke: line, endsAfter: [after, after + 1], left, segment: segment.index }];
}

/** A measured row that is not quite straight reaches a little further to its sides than the line between its ends. */
function bowDots(segment: Segment, after: number, left: Vec, faceMm: number): TrackDot[] {
  const { bulgeLeftMm, bulgeRightMm } = segment.stretch;
  return [bulgeLeftMm, -bulgeRightMm].flatMap((offset): TrackDot[] => {
    if (Math.abs(offset) < 0.05) return [];
    return [{ after, measured: add(segment.start, scale(left, offset)), radiusMm: faceMm }];
  });
}

/** At the free end of an open run the rails end square: their two corners count, not a round dot. */
function endDots(at: Vec, after: number, left: Vec, free: boolean, faceMm: number): TrackDot[] {
  if (!free) return [{ after, measured: at, radiusMm: faceMm }];
  return [faceMm, -faceMm].map((offset) => ({ after, measured: add(at, scale(left, offset)), radiusMm: 0 }));
}

function arcSpans(stroke: Arc, after: number, faceMm: number): Bare[] {
  const count = Math.max(1, Math.ceil(Math.abs(stroke.sweepRad) / spanSweepRad));
  return Array.from({ length: count }, (_, i): Bare => {
    const [from, to] = [i, i + 1].map((k) => placeOn(stroke, k / count).at);
    const dots = [from, to].map((measured) => ({ after, measured, radiusMm: faceMm }));
    const arc: Stroke = { ...stroke, from, sweepRad: stroke.sweepRad / count };
    return { dots, stroke: arc, endsAfter: [after, after], left: leftOf(unit(subtract(to, from))), segment: null };
  });
}

/** Dots of a span that decide how far it reaches against a direction: its ends, and the bow of an arc. */
export function dotsTowards(span: TrackSpan, outward: Vec): readonly TrackDot[] {
  if (span.stroke.kind === 'line') return span.dots;
  const [first] = span.dots;
  const bows = sharesAlong(span.stroke, leftOf(outward)).map((share) => placeOn(span.stroke, share).at);
  return [...span.dots, ...bows.map((measured) => ({ ...first, measured }))];
}

function unit(a: Vec): Vec {
  const length = lengthOf(a);
  return length > 0 ? scale(a, 1 / length) : [1, 0];
}
