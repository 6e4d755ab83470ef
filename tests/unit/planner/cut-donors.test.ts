import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cutDonors, fitsDonor } from '../../../server/planner/cut-donors.js';

const options = { kerfMm: 1, reusableOffcutMm: 60 };
const pieces = (lengths: readonly number[]) => lengths.map((lengthMm, i) => ({ id: `F${i + 1}`, lengthMm }));
const donors = (lengths: readonly number[]) => lengths.map((lengthMm, i) => ({ id: `d${i + 1}`, lengthMm }));

/** Fewest donors by trying every assignment. */
function fewestByTrying(lengths: readonly number[], donorsMm: readonly number[], kerfMm: number): number | null {
  let best: number | null = null;
  const load: number[][] = donorsMm.map(() => []);
  const place = (i: number): void => {
    if (i === lengths.length) {
      if (load.some((l, d) => !fits(l, donorsMm[d], kerfMm))) return;
      const used = load.filter((l) => l.length > 0).length;
      if (best === null || used < best) best = used;
      return;
    }
    for (const l of load) {
      l.push(lengths[i]);
      place(i + 1);
      l.pop();
    }
  };
  place(0);
  return best;
}

function fits(lengths: readonly number[], donorMm: number, kerfMm: number): boolean {
  const left = donorMm - lengths.reduce((a, b) => a + b, 0) - Math.max(0, lengths.length - 1) * kerfMm;
  return lengths.length === 0 || left >= kerfMm - 1e-6 || Math.abs(left) < 0.02;
}

describe('cutting donors', () => {
  it('counts every kerf in marks and offcut', () => {
    const result = cutDonors(pieces([101.6, 101.6]), donors([254]), options);
    expect(result?.cuts[0].marksMm).toEqual([101.6, 204.2]);
    expect(result?.cuts[0].offcutMm).toBeCloseTo(48.8, 9);
  });

  it('needs no kerf for a piece that ends where the donor ends, but room for the blade otherwise', () => {
    expect(fitsDonor([100, 153], 254, 1)).toBe(true);
    expect(fitsDonor([253.5], 254, 1)).toBe(false);
    expect(fitsDonor([254], 254, 1)).toBe(true);
  });

  it('says when the donors do not give the pieces', () => {
    expect(cutDonors(pieces([200, 200]), donors([254]), options)).toBeNull();
  });

  it('leaves the longest offcut when one donor is enough either way', () => {
    const result = cutDonors(pieces([100]), donors([222, 254]), options);
    expect(result?.cuts[0].donor.id).toBe('d2');
  });

  it('avoids an offcut too short to keep when it can', () => {
    const result = cutDonors(pieces([200]), donors([222, 300]), options);
    expect(result?.cuts[0].donor.lengthMm).toBe(300);
  });

  it('uses as few donors as trying everything finds', () => {
    const lengths = fc.array(fc.integer({ min: 38, max: 180 }), { minLength: 1, maxLength: 6 });
    const stock = fc.array(fc.constantFrom(127, 190, 222, 254), { minLength: 1, maxLength: 4 });
    fc.assert(
      fc.property(lengths, stock, fc.constantFrom(0, 1, 2.5), (l, d, kerfMm) => {
        const result = cutDonors(pieces(l), donors(d), { ...options, kerfMm });
        expect(result?.cuts.length ?? null).toBe(fewestByTrying(l, d, kerfMm));
        for (const cut of result?.cuts ?? []) {
          expect(
            fits(
              cut.pieces.map((p) => p.lengthMm),
              cut.donor.lengthMm,
              kerfMm,
            ),
          ).toBe(true);
        }
      }),
      { numRuns: 150, seed: 20 },
    );
  });
});
