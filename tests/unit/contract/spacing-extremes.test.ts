import { describe, expect, it } from 'vitest';
import type { Report } from '../../../server/contract/report.js';
import { narrowestSpacing, spacingExtremes } from '../../../server/contract/spacing-extremes.js';

const spacing = (a: string, b: string, value: number) =>
  ({ runs: [a, b], distance: { value, u: 0.3 }, at: [0, 0], seen: [] }) as Report['spacings'][number];

describe('the narrowest and the widest place between runs', () => {
  const report = {
    spacings: [
      spacing('R1', 'R2', 120),
      spacing('R1', 'R2', 104),
      spacing('R2', 'R1', 103),
      spacing('R2', 'R3', 90),
      spacing('R2', 'R1', 131),
      spacing('R3', 'R2', 91),
    ],
  };

  it('are told once for each pair, whichever run they were measured from', () => {
    expect(spacingExtremes(report)).toEqual([
      { runs: ['R1', 'R2'], narrowest: 2, widest: 4 },
      { runs: ['R2', 'R3'], narrowest: 3, widest: null },
    ]);
  });

  it('is what a plan is checked against', () => {
    expect(narrowestSpacing(report, ['R2', 'R1'])?.distance.value).toBe(103);
    expect(narrowestSpacing(report, ['R1', 'R3'])).toBeNull();
  });
});
