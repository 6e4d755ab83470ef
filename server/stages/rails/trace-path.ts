import type { RailLikeness } from './likeness-tiles.js';

/** A centre line followed over the plan picture, in plan pixels; `good` false where it was bridged. */
export interface TracedPath {
  readonly points: readonly { readonly x: number; readonly y: number; readonly good: boolean }[];
  readonly closed: boolean;
}

export interface TraceOptions {
  /** Step along the path, plan pixels. */
  readonly stepPx: number;
  /** Longest stretch without rails that is stepped over, plan pixels. */
  readonly bridgePx: number;
  /** Half the width that one track takes, plan pixels. */
  readonly halfTrackPx: number;
  /** Shortest path kept, plan pixels. */
  readonly shortestPx: number;
}

/** Follows ridges of rail likeness from the strongest places on, until nothing strong is left. */
export function tracePaths(likeness: RailLikeness, options: TraceOptions): TracedPath[] {
  const { widthPx: w, heightPx: h } = likeness;
  const strong = strongLevel(likeness, ridgePixels);
  if (strong === 0) return [];
  const taken = new Taken(w, h);
  const paths: TracedPath[] = [];
  for (const seed of byScore(likeness, likeness.pixelsAbove(0.5 * strong))) {
    if (taken.has(seed % w, Math.floor(seed / w))) continue;
    const path = traceFrom(likeness, seed, strong * 0.15, taken, options);
    const good = path.points.filter((p) => p.good).length * options.stepPx;
    taken.add(seed % w, Math.floor(seed / w), 0);
    for (const p of path.points) if (p.good) taken.add(Math.round(p.x), Math.round(p.y), options.halfTrackPx);
    if (good >= options.shortestPx && good > 0.4 * path.points.length * options.stepPx) paths.push(path);
  }
  return paths;
}

/** Pixels in the order of their scores, the greatest first; numbers are sorted in a fraction of the time of objects. */
function byScore(likeness: RailLikeness, pixels: Int32Array): Int32Array {
  const w = likeness.widthPx;
  // Scores in steps of 2^-12 before the pixel, which has 32 bits: both fit into a number.
  const keys = new Float64Array(pixels.length);
  for (let k = 0; k < keys.length; k++) {
    const at = pixels[k];
    keys[k] = (2 ** 20 - Math.round(likeness.scoreAt(at % w, Math.floor(at / w)) * 4096)) * 2 ** 32 + at;
  }
  keys.sort();
  const sorted = new Int32Array(keys.length);
  for (let k = 0; k < keys.length; k++) sorted[k] = keys[k] % 2 ** 32;
  return sorted;
}

/** What tracks found already take up, in squares of two pixels. */
class Taken {
  readonly #across: number;
  readonly #down: number;
  readonly #squares: Uint8Array;

  constructor(widthPx: number, heightPx: number) {
    this.#across = (widthPx + 1) >> 1;
    this.#down = (heightPx + 1) >> 1;
    this.#squares = new Uint8Array(this.#across * this.#down);
  }

  has(x: number, y: number): boolean {
    return this.#squares[(y >> 1) * this.#across + (x >> 1)] === 1;
  }

  add(x: number, y: number, radiusPx: number): void {
    const r = Math.ceil(radiusPx / 2);
    for (let dy = -r; dy <= r; dy++)
      for (let dx = -r; dx <= r; dx++) {
        if (dx * dx + dy * dy > r * r) continue;
        const [i, j] = [(x >> 1) + dx, (y >> 1) + dy];
        if (i >= 0 && j >= 0 && i < this.#across && j < this.#down) this.#squares[j * this.#across + i] = 1;
      }
  }
}

/** Pixels of a thin ridge a few hundred millimetres long, at 1.3 mm a pixel. */
export const ridgePixels = 1500;

/** The level of well-seen rails: the middle of the scores of such a ridge, the strongest in the picture. */
export function strongLevel({ scores }: RailLikeness, ridge: number): number {
  // Kept is what may be among the greatest: at times it is sorted, and what cannot be any more is dropped.
  const kept = new Float32Array(4 * ridge);
  let count = 0;
  let least = 0;
  for (let i = 0; i < scores.length; i++) {
    if (!(scores[i] > least)) continue;
    kept[count++] = scores[i];
    if (count < kept.length) continue;
    kept.sort();
    kept.copyWithin(0, count - ridge);
    count = ridge;
    least = kept[0];
  }
  if (count === 0) return 0;
  const top = Math.min(count, ridge);
  return kept.subarray(0, count).sort()[count - Math.ceil(top / 2)];
}

function angleOf(likeness: RailLikeness, x: number, y: number): number {
  return (likeness.directionAt(x, y) * Math.PI) / likeness.directionCount;
}

/** A loop whose last points run past its start again turns back on itself there: those points are dropped. */
function withoutOverlap(start: Point, points: readonly Point[], angle: number, stepPx: number): Point[] {
  const kept = [...points];
  while (kept.length > 8) {
    const last = kept[kept.length - 1];
    const ahead = (last.x - start.x) * Math.cos(angle) - (last.y - start.y) * Math.sin(angle);
    if (ahead < -0.5 * stepPx || Math.hypot(last.x - start.x, last.y - start.y) > 3 * stepPx) break;
    kept.pop();
  }
  return [start, ...kept];
}

type Point = { x: number; y: number; good: boolean };

function traceFrom(
  likeness: RailLikeness,
  seed: number,
  level: number,
  taken: Taken,
  options: TraceOptions,
): TracedPath {
  const w = likeness.widthPx;
  const start: Point = { x: seed % w, y: Math.floor(seed / w), good: true };
  const angle = angleOf(likeness, start.x, start.y);
  const ahead = follow(likeness, start, angle, level, taken, options);
  if (ahead.closed) return { points: withoutOverlap(start, ahead.points, angle, options.stepPx), closed: true };
  const back = follow(likeness, start, angle + Math.PI, level, taken, options);
  return { points: [...back.points.reverse(), start, ...ahead.points], closed: false };
}

/** Likeness above this share of what it was lately tells where the rails go; what is weaker the less, by its square. */
const trustedShare = 0.6;

function follow(
  likeness: RailLikeness,
  start: Point,
  startAngle: number,
  level: number,
  taken: Taken,
  options: TraceOptions,
): { points: Point[]; closed: boolean } {
  const { stepPx } = options;
  const points: Point[] = [];
  let here: Point = start;
  let angle = startAngle;
  let turn = 0;
  let missed = 0;
  let usual = likeness.scoreAt(Math.round(start.x), Math.round(start.y));
  const mostSteps = 20000 / stepPx;
  for (let step = 0; step < mostSteps; step++) {
    const next = bestNext(likeness, here, angle, turn, missed * stepPx, options);
    if (next && taken.has(Math.round(next.x), Math.round(next.y))) break;
    if (next && next.value >= level) {
      // Where rails end, or are covered, what is left of their likeness points elsewhere.
      const trust = Math.min(1, (next.value / (trustedShare * usual)) ** 2);
      if (missed === 0) turn += 0.2 * trust * (wrap(next.angle - angle) - turn);
      angle += missed === 0 ? turn + trust * wrap(next.angle - angle - turn) : wrap(next.angle - angle);
      usual += 0.15 * (next.value - usual);
      here = { x: next.x, y: next.y, good: true };
      missed = 0;
    } else {
      missed++;
      if (missed * stepPx > options.bridgePx) break;
      angle += turn;
      here = { x: here.x + stepPx * Math.cos(angle), y: here.y - stepPx * Math.sin(angle), good: false };
    }
    points.push(here);
    const home = Math.hypot(here.x - start.x, here.y - start.y);
    if (step * stepPx > 8 * options.halfTrackPx && home < 1.2 * stepPx && Math.abs(wrap(angle - startAngle)) < 0.5)
      return { points, closed: true };
  }
  while (points.length > 0 && !points[points.length - 1].good) points.pop();
  return { points, closed: false };
}

function wrap(angle: number): number {
  return Math.atan2(Math.sin(angle), Math.cos(angle));
}

function bestNext(
  likeness: RailLikeness,
  here: Point,
  angle: number,
  turn: number,
  missedPx: number,
  options: TraceOptions,
): { x: number; y: number; angle: number; value: number } | null {
  const { widthPx: w, heightPx: h } = likeness;
  const a = angle + turn;
  const x0 = here.x + options.stepPx * Math.cos(a);
  const y0 = here.y - options.stepPx * Math.sin(a);
  const reach = Math.round(Math.min(3 + missedPx * 0.06, 9));
  let best: { x: number; y: number; angle: number; value: number; merit: number } | null = null;
  for (let k = -reach; k <= reach; k++) {
    const x = x0 + k * Math.sin(a);
    const y = y0 + k * Math.cos(a);
    const xi = Math.round(x);
    const yi = Math.round(y);
    if (xi < 0 || yi < 0 || xi >= w || yi >= h) continue;
    const value = likeness.scoreAt(xi, yi);
    if (value <= 0) continue;
    const off = wrap(2 * (angleOf(likeness, xi, yi) - a)) / 2;
    if (Math.abs(off) > 0.3) continue;
    const merit = value * (1 - Math.abs(off)) * (1 - 0.04 * Math.abs(k));
    if (!best || merit > best.merit) best = { x, y, angle: a + 0.5 * off, value, merit };
  }
  return best;
}
