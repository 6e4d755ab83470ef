import { sigmaOfMiddle } from '../../linalg/middle.js';
import type { RailTrace } from '../../scene/rail-trace.js';

/** Samples [from, to) of a trace that make one piece: one section, or a part of one. */
export interface PieceSpan {
  readonly from: number;
  readonly to: number;
  readonly straight: boolean;
  /** False where the rails are hidden and the piece only bridges. */
  readonly seen: boolean;
}

/** A curve of a larger radius than this cannot be told from a straight in the length of a section. */
const largestRadiusMm = 2600;

/** Root mean square of what one arc may leave over, before a piece is cut in two. */
const largestMisfitMm = 0.22;

/** Where no joint was seen, no part shorter than this is cut off: its bend would be anyone's guess. */
const shortestPartMm = 64;

/** No section turns farther than an eighth of a circle (common practice, no source): what does has a joint within. */
const largestTurnRad = 0.85;

interface Fit {
  readonly curvature: number;
  readonly misfit: number;
}

/**
 * Cuts a trace at its joints, and further where one straight or one arc does not fit what lies between, as at a joint
 * that could not be seen.
 * @param cuts sample indices (fractions allowed) where joints are
 * @param blanks sample ranges without rails: open gaps and covered stretches
 */
export function cutPieces(
  trace: RailTrace,
  cuts: readonly number[],
  blanks: readonly { readonly from: number; readonly to: number; readonly hidden: boolean }[],
  ends: { readonly from: number; readonly to: number },
): PieceSpan[] {
  const n = trace.samples.length;
  const borders = new Set<number>();
  for (const c of cuts) borders.add(Math.round(c));
  for (const b of blanks) {
    borders.add(Math.floor(b.from));
    borders.add(Math.ceil(b.to));
  }
  const inside = (i: number): boolean => blanks.some((b) => i > b.from - 0.5 && i < b.to + 0.5);
  let start = Math.max(0, Math.ceil(ends.from));
  let stop = Math.min(n, Math.floor(ends.to) + 1);
  if (trace.closed) {
    start = cuts.length > 0 ? Math.round(cuts[0]) : 0;
    stop = start + n;
  }
  const wrapped = [...borders].flatMap((b) => (trace.closed ? [b, b + n] : [b]));
  const all = [start, ...wrapped.filter((b) => b > start + 1 && b < stop - 1).sort((a, b) => a - b), stop];
  const pieces: PieceSpan[] = [];
  for (let i = 0; i + 1 < all.length; i++) {
    const [from, to] = [all[i], all[i + 1]];
    if (to - from < 1) continue;
    const middle = ((from + to) / 2) % n;
    const blank = blanks.find((b) => middle > b.from && middle < b.to);
    if (blank && !blank.hidden) continue;
    if (blank) {
      const fit = fitArc(trace, from, to, () => false);
      pieces.push({ from, to, straight: Math.abs(fit.curvature) < 1 / largestRadiusMm, seen: false });
      continue;
    }
    pieces.push(...split(trace, from, to, inside));
  }
  return pieces;
}

/**
 * Cuts a trace into spans about lengthMm long that one arc fits: evenly, and once more where a straight goes over into a
 * curve. Enough for solving the camera before the joints are known; a kink at a joint between does no harm.
 */
export function cutEvenly(trace: RailTrace, lengthMm: number): PieceSpan[] {
  const n = trace.samples.length;
  const count = Math.max(1, Math.round((n * trace.stepMm) / lengthMm));
  return Array.from({ length: count }, (_, i) =>
    split(trace, Math.round((i * n) / count), Math.round(((i + 1) * n) / count), () => false),
  ).flat();
}

function split(trace: RailTrace, from: number, to: number, skip: (i: number) => boolean): PieceSpan[] {
  const whole = fitArc(trace, from, to, skip);
  const least = Math.ceil(shortestPartMm / trace.stepMm);
  const piece = { from, to, straight: Math.abs(whole.curvature) < 1 / largestRadiusMm, seen: true };
  const turnsTooFar = Math.abs(whole.curvature) * (to - from) * trace.stepMm > largestTurnRad;
  if (to - from < 2 * least || (whole.misfit < largestMisfitMm && !turnsTooFar)) return [piece];
  let best: { at: number; sum: number } | null = null;
  for (let at = from + least; at <= to - least; at++) {
    const sum =
      fitArc(trace, from, at, skip).misfit ** 2 * (at - from) + fitArc(trace, at, to, skip).misfit ** 2 * (to - at);
    if (!best || sum < best.sum) best = { at, sum };
  }
  if (!best || (!turnsTooFar && Math.sqrt(best.sum / (to - from)) > 0.8 * whole.misfit)) return [piece];
  return [...split(trace, from, best.at, skip), ...split(trace, best.at, to, skip)];
}

/** Circle across the chord through the rails' middle, as a parabola and what a circle rises above one; outliers count less. */
function fitArc(trace: RailTrace, from: number, to: number, skip: (i: number) => boolean): Fit {
  const n = trace.samples.length;
  const first = trace.samples[from % n];
  const last = trace.samples[(to - 1) % n];
  const heading = Math.atan2(last.y - first.y, last.x - first.x);
  const c = Math.cos(heading);
  const s = Math.sin(heading);
  const rows: [number, number][] = [];
  for (let i = from; i < to; i++) {
    if (skip(i % n)) continue;
    const p = trace.samples[i % n];
    const seen = p.sidewaysMm.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
    if (seen.length < 2) continue;
    const shift = seen[seen.length >> 1];
    const x = p.x - shift * Math.sin(p.headingRad) - (first.x + last.x) / 2;
    const y = p.y + shift * Math.cos(p.headingRad) - (first.y + last.y) / 2;
    rows.push([x * c + y * s, -x * s + y * c]);
  }
  if (rows.length < 4) return { curvature: 0, misfit: 0 };
  let weights = rows.map(() => 1);
  let coefficients: [number, number, number] = [0, 0, 0];
  let misfit = 0;
  for (let pass = 0; pass < 4; pass++) {
    const k = 2 * coefficients[2];
    const flat = rows.map(([u, v]): [number, number] => [u, v - (k * u ** 2) ** 2 * (k / 8 + (k ** 3 * u ** 2) / 16)]);
    coefficients = parabola(flat, weights);
    const residuals = flat.map(([u, v]) => v - (coefficients[0] + coefficients[1] * u + coefficients[2] * u * u));
    const absolute = residuals.map(Math.abs).sort((a, b) => a - b);
    const scatter = sigmaOfMiddle * absolute[absolute.length >> 1];
    // The middle alone would not notice that the last twentieth of a straight is already curve.
    misfit = Math.max(scatter, absolute[Math.floor(0.97 * (absolute.length - 1))] / 2.17);
    const width = 2.5 * scatter + 0.02;
    weights = residuals.map((r) => 1 / (1 + (r / width) ** 2));
  }
  return { curvature: 2 * coefficients[2], misfit };
}

function parabola(rows: readonly [number, number][], weights: readonly number[]): [number, number, number] {
  const m = [0, 0, 0, 0, 0];
  const r = [0, 0, 0];
  rows.forEach(([u, v], k) => {
    let power = weights[k];
    for (let i = 0; i < 5; i++) {
      m[i] += power;
      if (i < 3) r[i] += power * v;
      power *= u;
    }
  });
  const det = (a: number, b: number, c: number, d: number, e: number, f: number, g: number, h: number, i: number) =>
    a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  const d = det(m[0], m[1], m[2], m[1], m[2], m[3], m[2], m[3], m[4]);
  return [
    det(r[0], m[1], m[2], r[1], m[2], m[3], r[2], m[3], m[4]) / d,
    det(m[0], r[0], m[2], m[1], r[1], m[3], m[2], r[2], m[4]) / d,
    det(m[0], m[1], r[0], m[1], m[2], r[1], m[2], m[3], r[2]) / d,
  ];
}
