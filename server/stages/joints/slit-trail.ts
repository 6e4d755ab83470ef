import { type KernelExports, loadKernel } from '../../images/load-kernel.js';
import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';
import { middleInPlace, middleOf, sigmaOfMiddle } from '../../linalg/middle.js';
import { wasmBase64 } from './slit-trail-kernel.js';
import { type SlitView, slitStepMm } from './slit-views.js';

/** What one view shows of a cut across the rails, row by row. */
export interface SlitTrail {
  readonly part: 'head' | 'flange';
  /** Darkening against both sides, as a share of the rail's own root brightness, in the best combination of the columns. */
  readonly darkening: Float32Array;
  /** Scatter of the darkening nearby, where there is no cut; infinite where the view shows nothing. */
  readonly scatter: Float32Array;
  /** How much darker both sides are than the view usually is, in units of the scatter of that: a tie, a cover, a shadow. */
  readonly beside: Float32Array;
  /** How much darker the side after a row is than the side before it, like the darkening: the edge of something. */
  readonly tilt: Float32Array;
}

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

/** Rows that are taken to appear shifted alike. */
const shiftRows = 40;

/** Every so many rows tell of the columns' scatter: neighbours are smoothed alike. */
const everyRows = 2;
const leastRows = 20;

const leastLevel = 0.05;

/** What server/kernels/slit-trail.ts exports. */
interface Kernel extends KernelExports {
  prepare(...sizes: readonly number[]): number;
  readStrip(shiftRows: number): void;
  smooth(tapCount: number, near: number, far: number): void;
  weigh(a: number, b: number, count: number, every: number, leastLevel: number, cutAt: number): void;
  combine(a: number, b: number): void;
  shiftsAt(): number;
  tapsAt(): number;
  chosenAt(): number;
  levelsAt(): number;
  weightsAt(): number;
  covarianceAt(): number;
  darkeningAt(): number;
  besideAt(): number;
  asideAt(): number;
}

const kernel = loadKernel<Kernel>(wasmBase64);
let shared: Kernel | undefined;

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/**
 * Looks along views for narrow cuts. Columns are weighed against their own scatter and against what they share (an
 * adaptive matched filter: weights C⁻¹·1 for a cut that darkens all columns by the same share; Robey et al. 1992, IEEE
 * Trans. AES 28, from memory), so that rust and the beat of a sharp crest against the pixels count little.
 * @param blurMm standard width of the smoothing along the run: about that of the picture itself
 */
export function slitTrails(views: readonly SlitView[], blurMm: number): SlitTrail[] {
  // Kept with its memory: new memory takes longer than what is done in it.
  shared ??= kernel.instance();
  const run = shared;
  return views.map((view) => slitTrail(run, view, blurMm));
}

function slitTrail(run: Kernel, view: SlitView, blurMm: number): SlitTrail {
  const { rows } = view.strip;
  const out: SlitTrail = {
    part: view.part,
    darkening: new Float32Array(rows),
    scatter: new Float32Array(rows).fill(Number.POSITIVE_INFINITY),
    beside: new Float32Array(rows),
    tilt: new Float32Array(rows),
  };
  if (rows < 2) return out;
  const block = Math.round(blockMm / slitStepMm);
  smoothView(run, view, blurMm, block + 2 * Math.round(reachMm / slitStepMm));
  for (let from = 0; from < rows; from += block) filterBlock(run, view, from, Math.min(rows, from + block), out);
  return out;
}

/** Has all columns smoothed to the blur of the picture, and the means of the rows on both sides taken; root brightness. */
function smoothView(run: Kernel, view: SlitView, blurMm: number, mostRows: number): void {
  const { rows, columns, data } = view.strip;
  const taps = gaussKernel(blurMm / slitStepMm);
  const stripAt = run.prepare(firstFreeByte, rows, columns, shiftRows, taps.length, mostRows);
  const { buffer } = run.memory;
  new Float32Array(buffer, stripAt, data.length).set(data);
  new Float32Array(buffer, run.tapsAt(), taps.length).set(taps);
  const shifts = new Float32Array(buffer, run.shiftsAt(), Math.ceil(rows / shiftRows) * columns);
  for (let at = 0, row = 0; at < shifts.length; row += shiftRows)
    for (let k = 0; k < columns; k++) shifts[at++] = view.shiftMmAt(row, k) / slitStepMm;
  run.readStrip(shiftRows);
  run.smooth(taps.length, Math.round(sideFromMm / slitStepMm), Math.round(sideToMm / slitStepMm));
}

function filterBlock(run: Kernel, view: SlitView, from: number, to: number, out: SlitTrail): void {
  const chosen = view.columnsAt((from + to) >> 1);
  const reach = Math.round(reachMm / slitStepMm);
  const a = Math.max(0, from - reach);
  const b = Math.min(view.strip.rows, to + reach);
  if (chosen.length < 3 || Math.floor((b - a) / everyRows) < leastRows) return;
  const { buffer } = run.memory;
  new Int32Array(buffer, run.chosenAt(), chosen.length).set(chosen);
  run.weigh(a, b, chosen.length, everyRows, leastLevel, cutAt);
  const weights = weightsOf(run, chosen.length);
  if (!weights) return;
  const levels = new Float32Array(buffer, run.levelsAt(), view.strip.columns);
  const shares = new Float32Array(buffer, run.weightsAt(), (view.strip.columns + 3) & ~3).fill(0);
  for (let p = 0; p < chosen.length; p++) shares[chosen[p]] = weights[p] / levels[chosen[p]];
  run.combine(a, b);
  const darkening = new Float64Array(buffer, run.darkeningAt(), b - a);
  const beside = new Float64Array(buffer, run.besideAt(), b - a);
  const aside = new Float64Array(buffer, run.asideAt(), b - a);
  const scatter = sigmaOfMiddle * middleInPlace(distances(darkening, 0)) + leastScatter;
  const usual = middleOf(beside);
  const spread = sigmaOfMiddle * middleInPlace(distances(beside, usual)) + leastBesideScatter;
  for (let row = from; row < to; row++) {
    out.darkening[row] = darkening[row - a];
    out.scatter[row] = scatter;
    out.beside[row] = (beside[row - a] - usual) / spread;
    out.tilt[row] = aside[row - a];
  }
}

/** Absolute differences from a value, in memory that the next call uses again. */
function distances(values: Float64Array, from: number): Float64Array {
  if (distanceRoom.length < values.length) distanceRoom = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) distanceRoom[i] = Math.abs(values[i] - from);
  return distanceRoom.subarray(0, values.length);
}

let distanceRoom = new Float64Array(0);

/** C⁻¹·1, of sum 1, with C the covariance of the columns' relative darkening; null when it is none. */
function weightsOf(run: Kernel, n: number): Float64Array | null {
  const width = (n + 3) & ~3;
  const seen = new Float32Array(run.memory.buffer, run.covarianceAt(), width * width);
  const covariance = new Float64Array(n * n);
  for (let p = 0; p < n; p++) {
    for (let q = 0; q < p; q++) covariance[p * n + q] = seen[p * width + q];
    covariance[p * n + p] = 1.15 * seen[p * width + p] + leastColumnVariance;
  }
  if (!choleskyInPlace(covariance, n)) return null;
  const weights = choleskySolve(covariance, n, new Float64Array(n).fill(1));
  const total = weights.reduce((s, v) => s + v, 0);
  return weights.map((w) => w / total);
}

function gaussKernel(sigma: number): Float64Array {
  const half = Math.ceil(2.5 * sigma);
  const k = Float64Array.from({ length: 2 * half + 1 }, (_, i) => Math.exp(-0.5 * ((i - half) / sigma) ** 2));
  const sum = k.reduce((s, v) => s + v, 0);
  return k.map((v) => v / sum);
}
