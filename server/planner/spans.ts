import type { Layout, Part } from './layout-parts.js';
import { add, leftOf, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';
import { placeOn, type Stroke } from './track-line.js';

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

/** Arcs are cut into spans of at most 7.5°: at a radius of 700 mm their hull lacks 0.4 mm, which the dots make up. */
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
    ...endDots(segment.end, after + 1, left, endsFree, faceMm),
  ];
  const line: Stroke = { kind: 'line', from: segment.start, to: segment.end };
  return [{ dots, stroke: line, endsAfter: [after, after + 1], left, segment: segment.index }];
}

/** At the free end of an open run the rails end square: their two corners count, not a round dot. */
function endDots(at: Vec, after: number, left: Vec, free: boolean, faceMm: number): TrackDot[] {
  if (!free) return [{ after, measured: at, radiusMm: faceMm }];
  return [faceMm, -faceMm].map((offset) => ({ after, measured: add(at, scale(left, offset)), radiusMm: 0 }));
}

function arcSpans(stroke: Extract<Stroke, { kind: 'arc' }>, after: number, faceMm: number): Bare[] {
  const count = Math.max(1, Math.ceil(Math.abs(stroke.sweepRad) / spanSweepRad));
  const radiusMm = lengthOf(subtract(stroke.from, stroke.centre));
  const lackMm = radiusMm * (1 - Math.cos(stroke.sweepRad / count / 4));
  return Array.from({ length: count }, (_, i): Bare => {
    const places = [i, i + 0.5, i + 1].map((k) => placeOn(stroke, k / count).at);
    const dots = places.map((measured) => ({ after, measured, radiusMm: faceMm + lackMm }));
    const left = leftOf(unit(subtract(places[2], places[0])));
    const arc: Stroke = { ...stroke, from: places[0], sweepRad: stroke.sweepRad / count };
    return { dots, stroke: arc, endsAfter: [after, after], left, segment: null };
  });
}

function unit(a: Vec): Vec {
  const length = lengthOf(a);
  return length > 0 ? scale(a, 1 / length) : [1, 0];
}
