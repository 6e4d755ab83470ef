import { choleskyInPlace, choleskyInverse, choleskySolve } from './cholesky.js';

/** Receives one residual (already divided by its standard uncertainty) with its derivatives. */
export type ResidualSink = (
  residual: number,
  index: ArrayLike<number>,
  derivative: ArrayLike<number>,
  count: number,
) => void;

/**
 * A least-squares problem given by its residuals.
 * `evaluate` calls the sink once for each residual, always in the same order; index/derivative may be reused buffers of
 * which the first `count` entries are read, and one parameter may occur more than once.
 */
export interface LeastSquaresProblem {
  readonly parameterCount: number;
  /** @param derivatives false when only the residuals are asked for: then `count` may be 0 */
  evaluate(parameters: Float64Array, sink: ResidualSink, derivatives?: boolean): void;
  /**
   * Where a step leads, when that is not the sum: the derivatives, and the covariance, are then by steps from where the
   * parameters stand.
   */
  stepped?(parameters: Float64Array, step: Float64Array): Float64Array;
}

/** Robust loss on a residual r of unit standard uncertainty. */
export type Loss =
  | { readonly kind: 'squared' }
  /** Quadratic within ±width, linear beyond (Huber 1964, Ann. Math. Statist. 35:73). */
  | { readonly kind: 'huber'; readonly width: number }
  /** Weight 1/(1 + r²/width²): far residuals lose their pull (Cauchy loss). */
  | { readonly kind: 'cauchy'; readonly width: number };

export interface LeastSquaresOptions {
  readonly loss: Loss;
  readonly maxIterations: number;
  /** Stop when the relative fall of the cost is below this. */
  readonly costTolerance: number;
  /** Damping of the first step, in shares of the diagonal: 1e-4 from near the solution, 1 and more from far off. */
  readonly startDamping?: number;
}

const usualStartDamping = 1e-4;

export const defaultLeastSquaresOptions: LeastSquaresOptions = {
  loss: { kind: 'squared' },
  maxIterations: 60,
  costTolerance: 1e-12,
};

export interface LeastSquaresSolution {
  readonly parameters: Float64Array;
  /** ½ Σ ρ(r). */
  readonly cost: number;
  readonly residualCount: number;
  readonly iterations: number;
  readonly ended: 'converged' | 'iterations' | 'singular';
  /** Covariance of the parameters for residuals of unit variance, n × n row by row; null where it is not defined. */
  readonly covariance: Float64Array | null;
}

/** A factored symmetric matrix whose rows may have been put in another order first. */
interface Factored {
  readonly factor: Float64Array;
  /** Row of the matrix that each row of the factor stands for; null where they are in their own order. */
  readonly order: Int32Array | null;
}

/** From this size on the order of the unknowns is worth looking at. */
const largeCount = 40;

/** Factors a matrix of which the lower triangle is given; null when it is not positive definite. */
function factored(matrix: Float64Array, n: number, damping: number): Factored | null {
  const order = n < largeCount ? null : sparseFirst(matrix, n);
  const factor = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      const p = order ? Math.max(order[i], order[j]) : i;
      const q = order ? Math.min(order[i], order[j]) : j;
      factor[i * n + j] = matrix[p * n + q];
    }
  for (let i = 0; i < n; i++) factor[i * n + i] += damping * Math.max(factor[i * n + i], 1e-30);
  return choleskyInPlace(factor, n) ? { factor, order } : null;
}

/** Unknowns that go together with few others first (Tinney and Walker 1967, Proc. IEEE 55:1801, scheme 1): fewer entries. */
function sparseFirst(matrix: Float64Array, n: number): Int32Array {
  const entries = new Int32Array(n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < i; j++)
      if (matrix[i * n + j] !== 0) {
        entries[i]++;
        entries[j]++;
      }
  return Int32Array.from({ length: n }, (_, i) => i).sort((a, b) => entries[a] - entries[b] || a - b);
}

function solved({ factor, order }: Factored, n: number, right: Float64Array): Float64Array {
  if (!order) return choleskySolve(factor, n, right);
  const turned = choleskySolve(
    factor,
    n,
    Float64Array.from(order, (i) => right[i]),
  );
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) out[order[i]] = turned[i];
  return out;
}

function inverted({ factor, order }: Factored, n: number): Float64Array {
  const inverse = choleskyInverse(factor, n);
  if (!order) return inverse;
  const out = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < n; j++) out[order[i] * n + order[j]] = inverse[i * n + j];
  return out;
}

/** Loss value (as ρ, so that the squared loss gives r²) and weight of a residual. */
export function lossOf(loss: Loss, r: number): { rho: number; weight: number } {
  switch (loss.kind) {
    case 'squared':
      return { rho: r * r, weight: 1 };
    case 'huber': {
      const a = Math.abs(r);
      return a <= loss.width
        ? { rho: r * r, weight: 1 }
        : { rho: 2 * loss.width * a - loss.width * loss.width, weight: loss.width / a };
    }
    case 'cauchy': {
      const q = (r / loss.width) ** 2;
      return { rho: loss.width * loss.width * Math.log1p(q), weight: 1 / (1 + q) };
    }
  }
}

interface NormalEquations {
  readonly cost: number;
  readonly count: number;
  readonly matrix: Float64Array;
  readonly gradient: Float64Array;
}

function buildNormalEquations(problem: LeastSquaresProblem, parameters: Float64Array, loss: Loss): NormalEquations {
  const n = problem.parameterCount;
  const matrix = new Float64Array(n * n);
  const gradient = new Float64Array(n);
  let cost = 0;
  let count = 0;
  // Copied first: what comes may be arrays of several kinds, which the inner loop would pay for.
  let at = new Int32Array(32);
  let by = new Float64Array(32);
  problem.evaluate(
    parameters,
    (residual, index, derivative, entries) => {
      const { rho, weight } = lossOf(loss, residual);
      cost += rho / 2;
      count++;
      if (entries > at.length) {
        at = new Int32Array(2 * entries);
        by = new Float64Array(2 * entries);
      }
      for (let a = 0; a < entries; a++) {
        at[a] = index[a];
        by[a] = derivative[a];
      }
      addProducts(matrix, gradient, n, at, by, entries, weight, residual);
    },
    true,
  );
  return { cost, count, matrix, gradient };
}

/** Adds one residual's products to the lower triangle and to the gradient. */
function addProducts(
  matrix: Float64Array,
  gradient: Float64Array,
  n: number,
  index: Int32Array,
  derivative: Float64Array,
  entries: number,
  weight: number,
  residual: number,
): void {
  for (let a = 0; a < entries; a++) {
    const i = index[a];
    const wd = weight * derivative[a];
    gradient[i] += wd * residual;
    matrix[i * n + i] += wd * derivative[a];
    for (let b = 0; b < a; b++) {
      const j = index[b];
      const product = wd * derivative[b];
      if (j < i) matrix[i * n + j] += product;
      else if (j > i) matrix[j * n + i] += product;
      else matrix[i * n + i] += 2 * product;
    }
  }
}

function costOf(problem: LeastSquaresProblem, parameters: Float64Array, loss: Loss): number {
  let cost = 0;
  problem.evaluate(
    parameters,
    (residual) => {
      cost += lossOf(loss, residual).rho / 2;
    },
    false,
  );
  return cost;
}

/** By how much a damped step would lower the cost if the residuals were linear. */
function promisedFall({ matrix, gradient }: NormalEquations, n: number, damping: number, step: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < n; i++) sum += step[i] * (damping * matrix[i * n + i] * step[i] - gradient[i]);
  return sum / 2;
}

/**
 * Levenberg–Marquardt with iteratively reweighted robust loss (Marquardt 1963, J. SIAM 11:431; damping rule of Nielsen
 * 1999, IMM-REP-1999-05). Never changes its inputs.
 */
export function solveLeastSquares(
  problem: LeastSquaresProblem,
  start: Float64Array,
  options: LeastSquaresOptions = defaultLeastSquaresOptions,
): LeastSquaresSolution {
  const n = problem.parameterCount;
  let parameters: Float64Array = Float64Array.from(start);
  let normal: NormalEquations = buildNormalEquations(problem, parameters, options.loss);
  let damping = options.startDamping ?? usualStartDamping;
  let growth = 2;
  let lastHelped = true;
  let ended: LeastSquaresSolution['ended'] = 'iterations';
  let iterations = 0;
  for (; iterations < options.maxIterations; iterations++) {
    const factor = factored(normal.matrix, n, damping);
    if (!factor) {
      damping *= growth;
      growth *= 2;
      if (damping > 1e16) {
        ended = 'singular';
        break;
      }
      continue;
    }
    const step = solved(factor, n, normal.gradient).map((d) => -d);
    const trial: Float64Array = problem.stepped?.(parameters, step) ?? parameters.map((p, i) => p + step[i]);
    // Steps mostly help: then the next equations are made at once, and only after one that did not is the cost asked first.
    const next: NormalEquations | null = lastHelped ? buildNormalEquations(problem, trial, options.loss) : null;
    const cost: number = next ? next.cost : costOf(problem, trial, options.loss);
    lastHelped = cost < normal.cost;
    if (lastHelped) {
      const fall = (normal.cost - cost) / Math.max(normal.cost, 1e-300);
      parameters = trial;
      normal = next ?? buildNormalEquations(problem, parameters, options.loss);
      damping = Math.max(damping / 5, 1e-14);
      growth = 2;
      if (fall < options.costTolerance) {
        ended = 'converged';
        break;
      }
    } else {
      if (promisedFall(normal, n, damping, step) < options.costTolerance * normal.cost || damping > 1e14) {
        ended = 'converged';
        break;
      }
      damping *= growth;
      growth *= 2;
    }
  }
  let covariance: Float64Array | null | undefined;
  return {
    parameters,
    cost: normal.cost,
    residualCount: normal.count,
    iterations,
    ended,
    // Worked out when it is asked for: most solutions are a step on the way to another.
    get covariance() {
      if (covariance === undefined) {
        const factor = factored(normal.matrix, n, 0);
        covariance = factor ? inverted(factor, n) : null;
      }
      return covariance;
    },
  };
}
