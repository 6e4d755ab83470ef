import type { LeastSquaresProblem } from '../../server/linalg/least-squares.js';

/** Value of a model at x, and its derivatives by the parameters. */
export type Model = (b: ArrayLike<number>, x: number) => { value: number; by: number[] };

/** Models of the NIST StRD nonlinear regression sets, as printed at the head of each file; derivatives by hand. */
export const nistModels: Readonly<Record<string, Model>> = {
  Misra1a: (b, x) => {
    const e = Math.exp(-b[1] * x);
    return { value: b[0] * (1 - e), by: [1 - e, b[0] * x * e] };
  },
  Chwirut2: (b, x) => {
    const below = b[1] + b[2] * x;
    const value = Math.exp(-b[0] * x) / below;
    return { value, by: [-x * value, -value / below, (-x * value) / below] };
  },
  Eckerle4: (b, x) => {
    const z = (x - b[2]) / b[1];
    const e = Math.exp(-0.5 * z * z);
    return {
      value: (b[0] / b[1]) * e,
      by: [e / b[1], (b[0] * e * (z * z - 1)) / b[1] ** 2, (b[0] * e * z) / b[1] ** 2],
    };
  },
  MGH09: (b, x) => {
    const above = x * x + x * b[1];
    const below = x * x + x * b[2] + b[3];
    const ratio = above / below;
    return {
      value: b[0] * ratio,
      by: [ratio, (b[0] * x) / below, (-b[0] * ratio * x) / below, (-b[0] * ratio) / below],
    };
  },
  MGH17: (b, x) => {
    const p = Math.exp(-x * b[3]);
    const q = Math.exp(-x * b[4]);
    return { value: b[0] + b[1] * p + b[2] * q, by: [1, p, q, -x * b[1] * p, -x * b[2] * q] };
  },
  Rat43: (b, x) => {
    const e = Math.exp(b[1] - b[2] * x);
    const power = (1 + e) ** (-1 / b[3]);
    const value = b[0] * power;
    const byExponent = (-value / b[3]) * (e / (1 + e));
    return { value, by: [power, byExponent, -x * byExponent, (value * Math.log1p(e)) / b[3] ** 2] };
  },
  Thurber: (b, x) => {
    const above = b[0] + x * (b[1] + x * (b[2] + x * b[3]));
    const below = 1 + x * (b[4] + x * (b[5] + x * b[6]));
    const value = above / below;
    const byBelow = -value / below;
    return {
      value,
      by: [1 / below, x / below, x ** 2 / below, x ** 3 / below, x * byBelow, x ** 2 * byBelow, x ** 3 * byBelow],
    };
  },
};

/** Residuals model − observed, in the unit of the observations. */
export function fitOf(model: Model, data: readonly (readonly [number, number])[], count: number): LeastSquaresProblem {
  const index = Array.from({ length: count }, (_, i) => i);
  return {
    parameterCount: count,
    evaluate(parameters, sink) {
      for (const [y, x] of data) {
        const { value, by } = model(parameters, x);
        sink(value - y, index, by, count);
      }
    },
  };
}

export interface NistSet {
  readonly starts: readonly [Float64Array, Float64Array];
  readonly certified: readonly number[];
  readonly deviations: readonly number[];
  readonly squares: number;
  /** y, x of each observation. */
  readonly data: readonly (readonly [number, number])[];
}

/** Reads a file of the NIST StRD nonlinear regression collection. */
export function parseNistSet(text: string): NistSet {
  const rows = [...text.matchAll(/^\s*b\d =\s+(\S+)\s+(\S+)\s+(\S+)\s+(\S+)/gm)].map((m) => m.slice(1).map(Number));
  const squares = Number(/Residual Sum of Squares:\s+(\S+)/.exec(text)?.[1]);
  const lines = text.slice(text.lastIndexOf('Data:')).trim().split('\n').slice(1);
  return {
    starts: [Float64Array.from(rows, (r) => r[0]), Float64Array.from(rows, (r) => r[1])],
    certified: rows.map((r) => r[2]),
    deviations: rows.map((r) => r[3]),
    squares,
    data: lines.map((line) => line.trim().split(/\s+/).map(Number) as [number, number]),
  };
}
