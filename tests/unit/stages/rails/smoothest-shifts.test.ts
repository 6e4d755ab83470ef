import { describe, expect, it } from 'vitest';
import { smoothestShifts } from '../../../../server/stages/rails/smoothest-shifts.js';

const shifts = 81;
const middle = 40;

/** Merits with a hill at each sample's true shift, and at chosen samples a higher hill elsewhere. */
function merits(truth: readonly number[], elsewhere: (i: number) => number | null): Float64Array[] {
  return truth.map((at, i) =>
    Float64Array.from({ length: shifts }, (_, q) => {
      const other = elsewhere(i);
      const own = other === null ? Math.exp(-(((q - at) / 3) ** 2)) : 0;
      return own + (other === null ? 0 : 1.5 * Math.exp(-(((q - other) / 3) ** 2)));
    }),
  );
}

describe('the smoothest row of shifts', () => {
  it('follows a slanting row of hills', () => {
    const truth = Array.from({ length: 60 }, (_, i) => middle - 15 + Math.round(i / 2));
    const found = smoothestShifts(
      merits(truth, () => null),
      false,
    );
    for (const [i, q] of found.entries()) expect(Math.abs(q - truth[i])).toBeLessThanOrEqual(1);
  });

  it('goes straight on past a few samples where something beside the rails fits better', () => {
    const truth = Array.from({ length: 60 }, () => middle);
    const found = smoothestShifts(
      merits(truth, (i) => (i >= 28 && i < 33 ? middle + 25 : null)),
      false,
    );
    for (const q of found) expect(Math.abs(q - middle)).toBeLessThanOrEqual(1);
  });

  it('has no seam on a closed row: the end tells how its beginning runs', () => {
    const truth = Array.from({ length: 80 }, (_, i) => middle + Math.round(8 * Math.sin((2 * Math.PI * i) / 80)));
    const found = smoothestShifts(
      merits(truth, (i) => (i < 5 ? middle - 25 : null)),
      true,
    );
    for (const [i, q] of found.entries()) expect(Math.abs(q - truth[i])).toBeLessThanOrEqual(2);
  });
});
