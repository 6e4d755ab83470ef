import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { solveLeastSquares } from '../../server/linalg/least-squares.js';
import { fitOf, type NistSet, nistModels, parseNistSet } from '../support/nist-models.js';

/** Numbers of two sets, typed from NIST StRD (US government work): nonlinear regression, Misra1a and MGH09. */
const misra1a: NistSet = {
  starts: [Float64Array.of(500, 1e-4), Float64Array.of(250, 5e-4)],
  certified: [238.94212918, 5.5015643181e-4],
  deviations: [2.7070075241, 7.2668688436e-6],
  squares: 1.2455138894e-1,
  data: [
    [10.07, 77.6],
    [14.73, 114.9],
    [17.94, 141.1],
    [23.93, 190.8],
    [29.61, 239.9],
    [35.18, 289],
    [40.02, 332.8],
    [44.82, 378.4],
    [50.76, 434.8],
    [55.05, 477.3],
    [61.01, 536.8],
    [66.4, 593.1],
    [75.47, 689.1],
    [81.78, 760],
  ],
};
const mgh09: NistSet = {
  starts: [Float64Array.of(25, 39, 41.5, 39), Float64Array.of(0.25, 0.39, 0.415, 0.39)],
  certified: [0.19280693458, 0.19128232873, 0.12305650693, 0.13606233068],
  deviations: [1.1435312227e-2, 1.9633220911e-1, 8.0842031232e-2, 9.0025542308e-2],
  squares: 3.0750560385e-4,
  data: [
    [0.1957, 4],
    [0.1947, 2],
    [0.1735, 1],
    [0.16, 0.5],
    [0.0844, 0.25],
    [0.0627, 0.167],
    [0.0456, 0.125],
    [0.0342, 0.1],
    [0.0323, 0.0833],
    [0.0235, 0.0714],
    [0.0246, 0.0625],
  ],
};

/** Significant digits in which two numbers agree (log relative error). */
const digits = (value: number, certified: number): number =>
  -Math.log10(Math.abs(value - certified) / Math.abs(certified));

/** The solver that the product measures with, asked to go on until nothing more is gained. */
function fewestDigits(name: string, set: NistSet, start: 0 | 1): number {
  const n = set.certified.length;
  const problem = fitOf(nistModels[name], set.data, n);
  const solved = solveLeastSquares(problem, set.starts[start], {
    loss: { kind: 'squared' },
    maxIterations: 2000,
    costTolerance: 1e-16,
    startDamping: 1,
  });
  const variance = (2 * solved.cost) / (set.data.length - n);
  const covariance = solved.covariance ?? new Float64Array(n * n);
  return Math.min(
    digits(2 * solved.cost, set.squares),
    ...set.certified.map((b, i) => digits(solved.parameters[i], b)),
    ...set.deviations.map((d, i) => digits(Math.sqrt(variance * covariance[i * n + i]), d)),
  );
}

const folder = resolve(import.meta.dirname, '../../../shared/data/nist_strd');
const there = existsSync(folder);

describe('the least-squares solver on NIST StRD, nonlinear regression', () => {
  it.each([0, 1] as const)(
    'agrees with Misra1a and MGH09 in six digits and more, deviations too (start %i)',
    (start) => {
      expect(fewestDigits('Misra1a', misra1a, start)).toBeGreaterThan(6);
      expect(fewestDigits('MGH09', mgh09, start)).toBeGreaterThan(6);
    },
  );

  it.skipIf(!there).each(Object.keys(nistModels))(
    'agrees with the file of %s in six digits and more, deviations too',
    (name) => {
      const set = parseNistSet(readFileSync(resolve(folder, `${name}.dat`), 'utf8'));
      expect(set.data.length).toBeGreaterThan(10);
      expect(fewestDigits(name, set, 1)).toBeGreaterThan(6);
      // The far start of MGH17 leads to another valley, as it does with most solvers that take only downhill steps.
      if (name !== 'MGH17') expect(fewestDigits(name, set, 0)).toBeGreaterThan(6);
    },
  );
});
