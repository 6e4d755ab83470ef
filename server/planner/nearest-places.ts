import { add, cross, distance, dot, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';
import {
  type Arc,
  placeOn,
  type Stroke,
  shareNearest,
  sharesTowards,
  strokeEnd,
  strokeLength,
  type TrackLine,
} from './track-line.js';

export interface NearestPlaces {
  readonly distanceMm: number;
  /** Shares 0…1 along the two strokes. */
  readonly shares: readonly [number, number];
  readonly places: readonly [Vec, Vec];
}

type Line = Extract<Stroke, { kind: 'line' }>;

/**
 * Nearest places of two strokes, exactly: at an end of one of them, or where both stand square to the line between; of
 * strokes that cross, the crossing.
 */
export function nearestBetween(a: Stroke, b: Stroke): NearestPlaces {
  let best: NearestPlaces = { distanceMm: Infinity, shares: [0, 0], places: [a.from, b.from] };
  const look = (shareA: number, shareB: number) => {
    const places = [placeOn(a, shareA).at, placeOn(b, shareB).at] as const;
    const distanceMm = distance(places[0], places[1]);
    if (distanceMm < best.distanceMm) best = { distanceMm, shares: [shareA, shareB], places };
  };
  for (const end of [0, 1]) {
    look(end, shareNearest(b, placeOn(a, end).at));
    look(shareNearest(a, placeOn(b, end).at), end);
  }
  for (const [shareA, shareB] of innerPairs(a, b)) look(shareA, shareB);
  return best;
}

/** Pairs of inner places that are square to the line between them, and crossings. */
function innerPairs(a: Stroke, b: Stroke): (readonly [number, number])[] {
  if (a.kind === 'line') {
    return b.kind === 'line' ? linesCross(a, b) : lineAndArc(a, b);
  }
  if (b.kind === 'line') return lineAndArc(b, a).map(([line, arc]) => [arc, line] as const);
  return twoArcs(a, b);
}

function linesCross(a: Line, b: Line): (readonly [number, number])[] {
  const [u, v] = [subtract(a.to, a.from), subtract(b.to, b.from)];
  const bend = cross(u, v);
  if (Math.abs(bend) < 1e-12) return [];
  const between = subtract(b.from, a.from);
  const shares = [cross(between, v) / bend, cross(between, u) / bend] as const;
  return shares.every((s) => s >= 0 && s <= 1) ? [shares] : [];
}

function lineAndArc(line: Line, arc: Arc): (readonly [number, number])[] {
  const whole = subtract(line.to, line.from);
  const length = lengthOf(whole);
  if (length === 0) return [];
  const foot = dot(subtract(arc.centre, line.from), whole) / (length * length);
  const toFoot = subtract(add(line.from, scale(whole, foot)), arc.centre);
  const radius = lengthOf(subtract(arc.from, arc.centre));
  const half2 = radius * radius - dot(toFoot, toFoot);
  const crossings = half2 > 0 ? [1, -1].map((sign) => foot + (sign * Math.sqrt(half2)) / length) : [];
  const pairs: (readonly [number, number])[] = [];
  for (const share of [foot, ...crossings]) {
    if (share < 0 || share > 1) continue;
    const towards = subtract(add(line.from, scale(whole, share)), arc.centre);
    for (const onArc of sharesTowards(arc, towards)) pairs.push([share, onArc]);
  }
  return pairs;
}

function twoArcs(a: Arc, b: Arc): (readonly [number, number])[] {
  const between = subtract(b.centre, a.centre);
  const apart = lengthOf(between);
  if (apart < 1e-9) return [];
  const pairs: (readonly [number, number])[] = [];
  const add2 = (towardsA: Vec, towardsB: Vec) => {
    for (const shareA of sharesTowards(a, towardsA)) {
      for (const shareB of sharesTowards(b, towardsB)) pairs.push([shareA, shareB]);
    }
  };
  for (const signA of [1, -1]) for (const signB of [1, -1]) add2(scale(between, signA), scale(between, signB));
  const [radiusA, radiusB] = [a, b].map((arc) => lengthOf(subtract(arc.from, arc.centre)));
  const alongMm = (apart * apart + radiusA * radiusA - radiusB * radiusB) / (2 * apart);
  const beside2 = radiusA * radiusA - alongMm * alongMm;
  if (beside2 <= 0) return pairs;
  const along = scale(between, 1 / apart);
  for (const sign of [1, -1]) {
    const besideMm = sign * Math.sqrt(beside2);
    const crossing: Vec = [along[0] * alongMm - along[1] * besideMm, along[1] * alongMm + along[0] * besideMm];
    add2(crossing, subtract(crossing, between));
  }
  return pairs;
}

/** Bounds of a stroke: x from, x to, y from, y to. */
export type Box = readonly [number, number, number, number];

export function boxOf(stroke: Stroke): Box {
  const { from } = stroke;
  const to = strokeEnd(stroke);
  const bulgeMm = bulgeOf(stroke);
  return [
    Math.min(from[0], to[0]) - bulgeMm,
    Math.max(from[0], to[0]) + bulgeMm,
    Math.min(from[1], to[1]) - bulgeMm,
    Math.max(from[1], to[1]) + bulgeMm,
  ];
}

/** No place of a stroke reaches further beyond the box around its ends. */
function bulgeOf(stroke: Stroke): number {
  if (stroke.kind === 'line') return 0;
  if (Math.abs(stroke.sweepRad) > Math.PI) return strokeLength(stroke) / 2;
  return lengthOf(subtract(stroke.from, stroke.centre)) * (1 - Math.cos(stroke.sweepRad / 2));
}

/** A lower bound of the distance of what lies in two boxes. */
export function boxesApart(a: Box, b: Box): number {
  const x = Math.max(0, a[0] - b[1], b[0] - a[1]);
  const y = Math.max(0, a[2] - b[3], b[2] - a[3]);
  return Math.sqrt(x * x + y * y);
}

/** Smallest distance between the centre lines of two runs. */
export function distanceBetween(a: TrackLine, b: TrackLine): number {
  let nearestMm = Infinity;
  const boxes = b.strokes.map(boxOf);
  for (const s of a.strokes) {
    const box = boxOf(s);
    for (const [k, t] of b.strokes.entries()) {
      if (boxesApart(box, boxes[k]) < nearestMm) nearestMm = Math.min(nearestMm, nearestBetween(s, t).distanceMm);
    }
  }
  return nearestMm;
}
