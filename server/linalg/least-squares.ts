import { factored, inverted, solved } from './ordered-factor.js';
import { RowProducts } from './row-products.js';

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
  /** Stop when the relative fall of the cost, promised or found, is below this. */
  readonly costTolerance: number;
  /**
   * Damping of the first step, in shares of the diagonal: 1e-8 from near the solution, 1e-4 from less near, 1 and more from
   * far off. Unknowns that are told well only together are held back by much less damping than others.
   */
  readonly startDamping?: number;
}

const usualStartDamping = 1e-4;

/** Damping that does not hold back a step along what the residuals tell well together, in shares of the diagonal. */
const littleDamping = 1e-6;

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

/** Filled again and again. */
interface NormalEquations {
  cost: number;
  count: number;
  readonly matrix: Float64Array;
  readonly gradient: Float64Array;
}

function emptyEquations(n: number): NormalEquations {
  return { cost: 0, count: 0, matrix: new Float64Array(n * n), gradient: new Float64Array(n) };
}

function fillEquations(
  problem: LeastSquaresProblem,
  parameters: Float64Array,
  loss: Loss,
  equations: NormalEquations,
): void {
  const n = problem.parameterCount;
  const matrix = equations.matrix.fill(0);
  const gradient = equations.gradient.fill(0);
  let cost = 0;
  let count = 0;
  const products = new RowProducts(matrix, gradient, n);
  problem.evaluate(
    parameters,
    (residual, index, derivative, entries) => {
      const { rho, weight } = lossOf(loss, residual);
      cost += rho / 2;
      count++;
      products.add(residual, weight, index, derivative, entries);
    },
    true,
  );
  products.flush();
  equations.cost = cost;
  equations.count = count;
}

/**
 * Sum of the products of residuals' derivatives, weighed by the loss: the lower triangle of a count × count matrix, row by row.
 * @param evaluate sinks the residuals
 */
export function normalMatrix(count: number, loss: Loss, evaluate: (sink: ResidualSink) => void): Float64Array {
  const matrix = new Float64Array(count * count);
  const products = new RowProducts(matrix, new Float64Array(count), count);
  evaluate((residual, index, derivative, entries) =>
    products.add(residual, lossOf(loss, residual).weight, index, derivative, entries),
  );
  products.flush();
  return matrix;
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
  const factor = new Float64Array(n * n);
  let normal = emptyEquations(n);
  let spare = emptyEquations(n);
  fillEquations(problem, parameters, options.loss, normal);
  let damping = options.startDamping ?? usualStartDamping;
  let growth = 2;
  let lastHelped: boolean = true;
  let ended: LeastSquaresSolution['ended'] = 'iterations';
  let iterations = 0;
  for (; iterations < options.maxIterations; iterations++) {
    const solvable = factored(normal.matrix, n, damping, factor);
    if (!solvable) {
      damping *= growth;
      growth *= 2;
      if (damping > 1e16) {
        ended = 'singular';
        break;
      }
      continue;
    }
    const step = solved(solvable, n, normal.gradient).map((d) => -d);
    // A step that is hardly damped and promises next to nothing need not be tried: that would cost as much as all else of it.
    if (damping <= littleDamping && promisedFall(normal, n, damping, step) < options.costTolerance * normal.cost) {
      ended = 'converged';
      break;
    }
    const trial: Float64Array = problem.stepped?.(parameters, step) ?? parameters.map((p, i) => p + step[i]);
    // Steps mostly help: then the next equations are made at once, and only after one that did not is the cost asked first.
    const atOnce: boolean = lastHelped;
    if (atOnce) fillEquations(problem, trial, options.loss, spare);
    const cost: number = atOnce ? spare.cost : costOf(problem, trial, options.loss);
    lastHelped = cost < normal.cost;
    if (lastHelped) {
      const fall = (normal.cost - cost) / Math.max(normal.cost, 1e-300);
      parameters = trial;
      if (!atOnce) fillEquations(problem, parameters, options.loss, spare);
      [normal, spare] = [spare, normal];
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
        const whole = factored(normal.matrix, n, 0, factor);
        covariance = whole ? inverted(whole, n) : null;
      }
      return covariance;
    },
  };
}
