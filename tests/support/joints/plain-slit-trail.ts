import { choleskyInPlace, choleskySolve } from '../../../server/linalg/cholesky.js';
import { middleOf } from '../../../server/linalg/middle.js';
import type { SlitTrail } from '../../../server/stages/joints/slit-trail.js';
import { type SlitView, slitStepMm } from '../../../server/stages/joints/slit-views.js';

/** Rows beside a cut that tell how the rail looks there, millimetres from its middle: a closed joint is narrower. */
const sideFromMm = 1.75;
const sideToMm = 4.25;

/** Stretch whose columns are weighed alike, and how far beyond it the rail's own scatter is still told from. */
const blockMm = 60;
const reachMm = 60;

/** Least scatter that is believed of one column and of all together, shares of the brightness. */
const leastColumnVariance = 2e-4;
const leastScatter = 0.004;
const leastBesideScatter = 0.01;

/** Deviations beyond this many times a column's scatter are cut down to it: cuts and spots must not count as scatter. */
const cutAt = 3;

/** One view's trail in plain loops, against which the compiled ones of `slitTrails` are tested. */
export function plainSlitTrail(view: SlitView, blurMm: number): SlitTrail {
  const { rows, columns: width } = view.strip;
  const out: SlitTrail = {
    part: view.part,
    darkening: new Float32Array(rows),
    scatter: new Float32Array(rows).fill(Number.POSITIVE_INFINITY),
    beside: new Float32Array(rows),
    tilt: new Float32Array(rows),
  };
  const columns = Array.from({ length: width }, (_, k) => smoothedColumn(view, k, blurMm));
  const block = Math.round(blockMm / slitStepMm);
  for (let from = 0; from < rows; from += block) filterBlock(view, columns, from, Math.min(rows, from + block), out);
  return out;
}

/** One column: smoothed to the blur of the picture, and the mean of the rows on both sides; root brightness. */
interface SmoothedColumn {
  readonly own: Float32Array;
  readonly sides: Float32Array;
  /** Side before less side after. */
  readonly tilt: Float32Array;
}

function smoothedColumn(view: SlitView, k: number, blurMm: number): SmoothedColumn {
  const { strip } = view;
  const { rows, columns, data } = strip;
  const y = new Float64Array(rows);
  let shift = 0;
  for (let i = 0; i < rows; i++) {
    if (i % 40 === 0) shift = view.shiftMmAt(i, k) / slitStepMm;
    const q = Math.max(0, Math.min(rows - 1.001, i + shift));
    const j = Math.floor(q);
    const v = data[j * columns + k] + (q - j) * (data[(j + 1) * columns + k] - data[j * columns + k]);
    // Beyond the photo the rail is taken to go on alike, which shows no cut.
    y[i] = Number.isNaN(v) ? (i > 0 ? y[i - 1] : 0) : Math.sqrt(Math.max(0, v));
  }
  const sums = new Float64Array(rows + 1);
  for (let i = 0; i < rows; i++) sums[i + 1] = sums[i] + y[i];
  const mean = (a: number, b: number): number => {
    const from = Math.max(0, Math.min(rows - 1, a));
    const to = Math.max(from, Math.min(rows - 1, b));
    return (sums[to + 1] - sums[from]) / (to - from + 1);
  };
  const kernel = gaussKernel(blurMm / slitStepMm);
  const half = (kernel.length - 1) / 2;
  const near = Math.round(sideFromMm / slitStepMm);
  const far = Math.round(sideToMm / slitStepMm);
  const own = new Float32Array(rows);
  const sides = new Float32Array(rows);
  const tilt = new Float32Array(rows);
  for (let i = 0; i < rows; i++) {
    let sum = 0;
    if (i >= half && i + half < rows) for (let h = 0; h < kernel.length; h++) sum += kernel[h] * y[i - half + h];
    else for (let h = -half; h <= half; h++) sum += kernel[h + half] * y[Math.max(0, Math.min(rows - 1, i + h))];
    own[i] = sum;
    const before = mean(i - far, i - near);
    const after = mean(i + near, i + far);
    sides[i] = (before + after) / 2;
    tilt[i] = before - after;
  }
  return { own, sides, tilt };
}

function filterBlock(view: SlitView, all: readonly SmoothedColumn[], from: number, to: number, out: SlitTrail): void {
  const columns = view.columnsAt((from + to) >> 1).map((k) => all[k]);
  if (columns.length < 3) return;
  const reach = Math.round(reachMm / slitStepMm);
  const a = Math.max(0, from - reach);
  const b = Math.min(view.strip.rows, to + reach);
  const levels = columns.map(({ sides }) => {
    let sum = 0;
    for (let i = a; i < b; i++) sum += sides[i] / (b - a);
    return Math.max(0.05, sum);
  });
  const weights = weightsOf(columns, levels, a, b);
  if (!weights) return;
  const darkening = new Float64Array(b - a);
  const beside = new Float64Array(b - a);
  for (let p = 0; p < columns.length; p++)
    addColumn(columns[p], levels[p], weights[p], a, from, darkening, beside, out);
  const scatter = 1.4826 * middleOf(distances(darkening, 0)) + leastScatter;
  const usual = middleOf(beside);
  const spread = 1.4826 * middleOf(distances(beside, usual)) + leastBesideScatter;
  for (let row = from; row < to; row++) {
    out.darkening[row] = darkening[row - a];
    out.scatter[row] = scatter;
    out.beside[row] = (beside[row - a] - usual) / spread;
  }
}

/** Adds what one column shows to the rows from `first` on, and its tilt to those of the block, from `from` on. */
function addColumn(
  { own, sides, tilt }: SmoothedColumn,
  level: number,
  weight: number,
  first: number,
  from: number,
  darkening: Float64Array,
  beside: Float64Array,
  out: SlitTrail,
): void {
  const w = weight / level;
  for (let i = 0; i < darkening.length; i++) {
    darkening[i] += w * (sides[first + i] - own[first + i]);
    beside[i] += w * (level - sides[first + i]);
  }
  const to = Math.min(out.tilt.length, from + Math.round(blockMm / slitStepMm));
  for (let row = from; row < to; row++) out.tilt[row] += w * tilt[row];
}

function distances(values: Float64Array, from: number): Float64Array {
  const out = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) out[i] = Math.abs(values[i] - from);
  return out;
}

/** C⁻¹·1, of sum 1, with C the covariance of the columns' relative darkening between two rows; null when it is none. */
function weightsOf(
  columns: readonly SmoothedColumn[],
  levels: readonly number[],
  a: number,
  b: number,
): Float64Array | null {
  const n = columns.length;
  const every = 2;
  const count = Math.floor((b - a) / every);
  if (count < 20) return null;
  const cut = columns.map(({ own, sides }, p) => {
    const d = new Float64Array(count);
    for (let i = 0; i < count; i++) d[i] = (sides[a + every * i] - own[a + every * i]) / levels[p];
    const most = cutAt * (1.4826 * middleOf(distances(d, 0)) + 1e-3);
    for (let i = 0; i < count; i++) d[i] = Math.max(-most, Math.min(most, d[i]));
    return d;
  });
  const covariance = new Float64Array(n * n);
  for (let p = 0; p < n; p++)
    for (let q = 0; q <= p; q++) {
      const sum = productSum(cut[p], cut[q]);
      covariance[p * n + q] = sum / count;
      if (p === q) covariance[p * n + q] = (1.15 * sum) / count + leastColumnVariance;
    }
  if (!choleskyInPlace(covariance, n)) return null;
  const weights = choleskySolve(covariance, n, new Float64Array(n).fill(1));
  const total = weights.reduce((s, v) => s + v, 0);
  return weights.map((w) => w / total);
}

function productSum(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i] * b[i];
  return sum;
}

function gaussKernel(sigma: number): Float64Array {
  const half = Math.ceil(2.5 * sigma);
  const k = Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.exp(-0.5 * ((i - half) / sigma) ** 2));
  const sum = k.reduce((s, v) => s + v, 0);
  return k.map((v) => v / sum);
}
