import type { RailLikeness } from '../../../server/stages/rails/likeness-tiles.js';
import { likenessOfPixels } from './likeness-of-pixels.js';

/**
 * The plain twin of `findRailLikeness`: the same in plain TypeScript and double precision, slower. Looks for equal cross-sections one rail spacing apart, in every direction. Rails show a bright crest, dark flanks and
 * a flange whose brightness depends on the light, but all rails of one track show the same; so the across-track
 * derivative, averaged along the track, is compared with itself one spacing to the left and to the right. Nothing is
 * assumed about bright or dark.
 * @param grey plan picture, NaN outside the photo
 * @param spacingPx rail spacing in plan pixels
 */
export function plainRailLikeness(
  grey: Float32Array,
  widthPx: number,
  heightPx: number,
  spacingPx: number,
  railCount: 2 | 3,
): RailLikeness {
  const directionCount = 24;
  const score = new Float32Array(widthPx * heightPx);
  const direction = new Uint8Array(widthPx * heightPx);
  const size = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const work = makeWork(size);
  for (let k = 0; k < directionCount; k++) {
    const angle = (k * Math.PI) / directionCount;
    rotate(grey, widthPx, heightPx, angle, size, work);
    scoreRows(work, size, spacingPx, railCount);
    gather(work, widthPx, heightPx, angle, k, score, direction);
  }
  return likenessOfPixels({ widthPx, heightPx }, directionCount, score, direction);
}

/** One turned copy of the plan: columns run across the track, rows along it. */
interface Work {
  readonly size: number;
  readonly slope: Float32Array;
  readonly mean: Float32Array;
  readonly score: Float32Array;
  /** Which blocks of the score hold anything. */
  readonly filled: Uint8Array;
}

/** Blocks are 2^blockBits pixels square: most of a table is empty of rails, and is passed over by the block. */
const blockBits = 4;

function blocksAcross(size: number): number {
  return (size >> blockBits) + 1;
}

function makeWork(size: number): Work {
  const n = size * size;
  return {
    size,
    slope: new Float32Array(n),
    mean: new Float32Array(n),
    score: new Float32Array(n),
    filled: new Uint8Array(blocksAcross(size) ** 2),
  };
}

/** Brightness steps across the track beyond this are one object's edge, not a rail's; coded units, two pixels apart. */
const steepest = 60;

/** work.slope(row along the direction, column across) = across-track step of grey; 0 outside. */
function rotate(grey: Float32Array, w: number, h: number, angle: number, size: number, work: Work): void {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const half = (size - 1) / 2;
  const cx = (w - 1) / 2;
  const cy = (h - 1) / 2;
  const line = new Float32Array(size);
  for (let j = 0; j < size; j++) {
    const v = j - half;
    const x0 = cx + v * c - half * s;
    const y0 = cy - v * s - half * c;
    const [lo, hi] = spanInside(x0, s, w - 1, spanInside(y0, c, h - 1, [0, size]));
    line.fill(Number.NaN);
    let x = x0 + lo * s;
    let y = y0 + lo * c;
    for (let i = lo; i < hi; i++, x += s, y += c) {
      if (x < 0 || y < 0 || x >= w - 1 || y >= h - 1) {
        line[i] = Number.NaN;
        continue;
      }
      const xi = x | 0;
      const yi = y | 0;
      const fx = x - xi;
      const fy = y - yi;
      const p = yi * w + xi;
      const top = grey[p] + fx * (grey[p + 1] - grey[p]);
      const bottom = grey[p + w] + fx * (grey[p + w + 1] - grey[p + w]);
      line[i] = top + fy * (bottom - top);
    }
    const at = j * size;
    work.slope.fill(0, at, at + size);
    for (let i = Math.max(1, lo); i < Math.min(size - 1, hi); i++) {
      const d = line[i + 1] - line[i - 1];
      work.slope[at + i] = !Number.isNaN(d) ? (d > steepest ? steepest : Math.max(d, -steepest)) : 0;
    }
  }
}

/** The whole steps i within [span) for which 0 ≤ start + i·step < limit. */
function spanInside(start: number, step: number, limit: number, span: [number, number]): [number, number] {
  if (Math.abs(step) < 1e-9) return start >= 0 && start < limit ? span : [0, 0];
  const a = -start / step;
  const b = (limit - start) / step;
  const lo = Math.max(span[0], Math.ceil(Math.min(a, b)));
  const hi = Math.min(span[1], Math.floor(Math.max(a, b)) + 1);
  return hi > lo ? [lo, hi] : [0, 0];
}

/** Plan pixels averaged along the track on each side of the middle: with 1.3 mm a pixel, 33 mm. */
const alongHalfPx = 12;

function scoreRows(work: Work, size: number, spacingPx: number, railCount: 2 | 3): void {
  const { slope, mean } = work;
  const sum = new Float64Array(size);
  const count = 2 * alongHalfPx + 1;
  for (let j = 0; j < Math.min(alongHalfPx, size); j++) for (let i = 0; i < size; i++) sum[i] += slope[j * size + i];
  for (let j = 0; j < size; j++) {
    const enter = (j + alongHalfPx) * size;
    const leave = (j - alongHalfPx - 1) * size;
    if (j + alongHalfPx < size) for (let i = 0; i < size; i++) sum[i] += slope[enter + i];
    if (leave >= 0) for (let i = 0; i < size; i++) sum[i] -= slope[leave + i];
    const at = j * size;
    for (let i = 0; i < size; i++) mean[at + i] = sum[i] / count;
  }
  compareAcross(work, size, spacingPx, railCount);
}

/** Weakest mean step that can be a rail, coded units. */
const weakestStep = 0.7;

function compareAcross(work: Work, size: number, spacingPx: number, railCount: 2 | 3): void {
  const { mean, score, filled } = work;
  const half = Math.max(2, Math.round(0.32 * spacingPx));
  const reach = Math.ceil(spacingPx * 1.04) + half + 2;
  const lags = [0.97, 1, 1.03].map((f) => f * spacingPx);
  const lag0 = Math.round(spacingPx);
  const lagLeft = railCount === 3 ? lag0 : Math.floor(lag0 / 2);
  const lagRight = railCount === 3 ? lag0 : lag0 - lagLeft;
  const energy = new Float32Array(size);
  const least = weakestStep * (2 * half + 1) * 0.6;
  score.fill(0);
  filled.fill(0);
  const across = blocksAcross(size);
  for (let j = 0; j < size; j++) {
    const row = mean.subarray(j * size, (j + 1) * size);
    let sum = 0;
    for (let i = 0; i < size; i++) {
      sum += Math.abs(row[i]);
      if (i > 2 * half) sum -= Math.abs(row[i - 2 * half - 1]);
      if (i >= half) energy[i - half] = sum;
    }
    for (let i = reach; i < size - reach; i++) {
      const left = energy[i - lagLeft];
      const right = energy[i + lagRight];
      if (left < least || right < least || left > 4 * right || right > 4 * left) continue;
      if (railCount === 3 && (energy[i] < least || energy[i] > 4 * left || left > 4 * energy[i])) continue;
      // Where the neighbours do not agree at the nominal spacing they do not agree a fraction of a pixel beside it.
      if (railCount === 3 && !agrees(row, i, lag0, half)) continue;
      let best = 0;
      for (const lag of lags) {
        const value = railCount === 3 ? tripleMatch(row, i, lag, half) : pairMatch(row, i, lag, half);
        if (value > best) best = value;
      }
      if (best === 0) continue;
      score[j * size + i] = best;
      filled[(j >> blockBits) * across + (i >> blockBits)] = 1;
    }
  }
}

/** Whether the profiles a whole lag to the left and to the right both resemble the one here at all. */
function agrees(row: Float32Array, i: number, lag: number, half: number): boolean {
  let left = 0;
  let right = 0;
  let own = 0;
  let leftPower = 0;
  let rightPower = 0;
  for (let k = i - half; k <= i + half; k++) {
    const a = row[k];
    const l = row[k - lag];
    const r = row[k + lag];
    own += a * a;
    left += a * l;
    right += a * r;
    leftPower += l * l;
    rightPower += r * r;
  }
  return left > 0 && right > 0 && left * left > 0.04 * own * leftPower && right * right > 0.04 * own * rightPower;
}

/** Least of the two correlations with the neighbours, in brightness steps; zero unless both agree well. */
function tripleMatch(column: Float32Array, j: number, lag: number, half: number): number {
  const left = correlate(column, j, -lag, half);
  if (left <= 0) return 0;
  const right = correlate(column, j, lag, half);
  return Math.min(left, right);
}

function pairMatch(column: Float32Array, j: number, lag: number, half: number): number {
  return correlate(column, j + Math.floor(-lag / 2), lag, half);
}

function correlate(column: Float32Array, j: number, lag: number, half: number): number {
  const whole = Math.floor(lag);
  const part = lag - whole;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let k = -half; k <= half; k++) {
    const a = column[j + k];
    const p = j + k + whole;
    const b = column[p] + part * (column[p + 1] - column[p]);
    ab += a * b;
    aa += a * a;
    bb += b * b;
  }
  const norm = Math.sqrt(aa * bb);
  if (ab < 0.55 * norm) return 0;
  const n = 2 * half + 1;
  return (ab / norm) * Math.sqrt(Math.min(aa, bb) / n);
}

/** Takes over the turned score, and its direction, at every plan pixel where it is the best so far. */
function gather(
  work: Work,
  w: number,
  h: number,
  angle: number,
  index: number,
  score: Float32Array,
  direction: Uint8Array,
): void {
  const { size, score: turned } = work;
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const half = (size - 1) / 2;
  const cx = (w - 1) / 2;
  const cy = (h - 1) / 2;
  const block = 1 << blockBits;
  for (let y0 = 0; y0 < h; y0 += block)
    for (let x0 = 0; x0 < w; x0 += block) {
      const mx = x0 + block / 2 - cx;
      const my = y0 + block / 2 - cy;
      if (!anyNear(work, half + mx * s + my * c, half + mx * c - my * s)) continue;
      for (let y = y0; y < Math.min(h, y0 + block); y++)
        for (let x = x0; x < Math.min(w, x0 + block); x++) {
          const dx = x - cx;
          const dy = y - cy;
          const j = Math.round(half + dx * c - dy * s);
          const i = Math.round(half + dx * s + dy * c);
          if (i < 0 || j < 0 || i >= size || j >= size) continue;
          // Each second row stands for the next one too.
          const value = turned[(j & ~1) * size + i];
          if (value <= score[y * w + x]) continue;
          score[y * w + x] = value;
          direction[y * w + x] = index;
        }
    }
}

/** Whether the turned score holds anything within a block's diagonal of a place, column i and row j. */
function anyNear({ size, filled }: Work, i: number, j: number): boolean {
  const across = blocksAcross(size);
  const bi = Math.floor(i) >> blockBits;
  const bj = Math.floor(j) >> blockBits;
  for (let q = Math.max(0, bj - 1); q <= Math.min(across - 1, bj + 1); q++)
    for (let p = Math.max(0, bi - 1); p <= Math.min(across - 1, bi + 1); p++) if (filled[q * across + p]) return true;
  return false;
}
