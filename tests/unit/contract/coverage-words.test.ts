import { describe, expect, it } from 'vitest';
import type { Coverage, CoverageHelp } from '../../../server/contract/coverage.js';
import {
  coverageAdvice,
  coverageLegend,
  coverageStep,
  coverageSteps,
  otherAdvice,
  warningIn,
} from '../../../server/contract/coverage-words.js';

const mm = { unit: 'mm', denominator: 16 } as const;
const inches = { unit: 'in', denominator: 16 } as const;
const marker: CoverageHelp = {
  kind: 'marker',
  near: { side: 'A', part: 'right' },
  inwards: false,
  at: [1700, 100],
  thenU: 0.9 / 1.96,
};
const photo: CoverageHelp = {
  kind: 'photo',
  near: { side: 'B', part: 'middle' },
  inwards: false,
  at: [1700, 600],
  heightMm: 1500,
  markers: [7, 3],
  thenU: 1 / 1.96,
};

function coverage(helps: CoverageHelp[], u = 2.8 / 1.96): Coverage {
  const leastSure = { what: 'clearance', near: { side: 'D', part: 'left' }, u, at: [80, 1100] } as const;
  return {
    cellMm: [50, 50],
    openEnds: [],
    origin: [0, 0],
    columns: 1,
    rows: 1,
    cells: [u],
    leastSure: { ...leastSure, at: [80, 1100] },
    helps,
  };
}

describe('the line of advice', () => {
  it('names the place for one more marker, and what the least sure clearance becomes by it', () => {
    expect(coverageAdvice(coverage([marker]), mm)).toBe(
      'Put one more marker sheet near the right end of side A and take the photo again: the least sure clearance goes from ± 2.8 mm (near the left end of side D) to ± 0.9 mm.',
    );
  });

  it('names where to stand for one more photo, and the markers that it must show', () => {
    expect(coverageAdvice(coverage([photo, marker]), mm)).toBe(
      'Take one more photo from the middle of side B, with markers 3 and 7 in it: the least sure clearance goes from ± 2.8 mm (near the left end of side D) to ± 1.0 mm.',
    );
    expect(otherAdvice(coverage([photo, marker]), mm)).toMatch(/^Or: Put one more marker sheet .* to ± 0\.9 mm\.$/);
    expect(otherAdvice(coverage([photo]), mm)).toBeNull();
  });

  it('warns of climbing on the table where the phone is to be held above it', () => {
    expect(coverageAdvice(coverage([{ ...photo, inwards: true }]), mm)).toMatch(/never on the table/);
  });

  it('says that a photo shows more of the table, and no gain where there is none', () => {
    const said = coverageAdvice(coverage([{ ...photo, showsMore: 0.12, thenU: 2.8 / 1.96 }]), mm);
    expect(said).toBe(
      'Take one more photo from the middle of side B, with markers 3 and 7 in it: it shows 12 % more of the table top than there is in any photo.',
    );
  });

  it('asks for nothing where everything is sure enough, and admits it where nothing helps', () => {
    expect(coverageAdvice(coverage([], 0.3), mm)).toBe(
      'The clearance to each side is good to ± 0.6 mm or better: no further photo or marker is needed.',
    );
    expect(coverageAdvice(coverage([], 1), mm)).toBe(
      'No single photo or marker more would help much: the least sure clearance, near the left end of side D, is good to ± 2.0 mm.',
    );
    expect(coverageAdvice({ ...coverage([]), leastSure: null }, mm)).toMatch(/^Nothing was measured/);
  });

  it('never promises more than the list of clearances says', () => {
    const said = (u: number, style = mm): string =>
      coverageAdvice({ ...coverage([], 0.2), listed: { side: 'B', u } }, style);
    expect(said(0.35)).toBe(
      'The clearance to each side is good to ± 0.7 mm or better: no further photo or marker is needed.',
    );
    expect(said(0.1)).toMatch(/± 0\.4 mm or better/);
    expect(said(0.7)).toBe(
      'As far as photos and markers go, every clearance along the track is good to ± 0.4 mm or better: no further photo or marker is needed. The one listed for side B is less sure, ± 1.4 mm: how well the rails were seen there counts in it too.',
    );
  });

  it('says in inches that ± does not hold the rounding, as that of the list does', () => {
    const listed = { side: 'B', u: 0.35 };
    expect(coverageAdvice({ ...coverage([], 0.2), listed }, inches)).toBe(
      'The clearance to each side is good to ± 0.03 in or better, before it is rounded to 1/16 in: no further photo or marker is needed.',
    );
  });

  it('does not call it done while the table goes on beyond what was seen', () => {
    const openEnds: Coverage['openEnds'] = [
      { side: 'A', part: 'right', marker: 7 },
      { side: 'B', part: 'left', marker: 3 },
    ];
    expect(coverageAdvice({ ...coverage([], 0.3), openEnds }, mm)).toBe(
      "The table's corner was not seen at the right end of side A and the left end of side B: to measure what lies there, take one more photo from there with markers 3 and 7 in it. The clearance to each side is good to ± 0.6 mm or better.",
    );
    expect(coverageAdvice({ ...coverage([marker]), openEnds: openEnds.slice(0, 1) }, mm)).toMatch(
      /at the right end of side A: .* with marker 7 in it\. Put one more marker sheet/,
    );
  });

  it('speaks of a side by its name', () => {
    const side = { what: 'side', near: { side: 'C', part: 'middle' }, u: 1.5 } as const;
    expect(coverageAdvice({ ...coverage([marker]), leastSure: side }, mm)).toMatch(
      /: the length of side C, the least sure one, goes from ± 2\.9 mm to ± 0\.9 mm\.$/,
    );
  });

  it('is written in inches where lengths are', () => {
    expect(coverageAdvice(coverage([marker]), inches)).toMatch(/from ± 0\.12 in .* to ± 0\.04 in\.$/);
  });
});

describe('a warning that holds the advice', () => {
  it('is shown in the unit of its reader, the rest of it unchanged', () => {
    const known = coverage([marker]);
    const message = `Only one marker was seen. ${coverageAdvice(known, mm)}`;
    expect(warningIn(message, known, inches)).toBe(`Only one marker was seen. ${coverageAdvice(known, inches)}`);
    expect(warningIn('Track is covered.', known, inches)).toBe('Track is covered.');
    expect(warningIn(message, undefined, inches)).toBe(message);
  });
});

describe('the steps of the coverage picture', () => {
  it('hold every half width that is not above them', () => {
    for (const style of [mm, inches]) {
      const steps = coverageSteps(style);
      expect(coverageLegend(style)).toHaveLength(steps.length + 1);
      steps.forEach((half, i) => {
        expect(coverageStep(half / 1.96 - 1e-9, style)).toBe(i);
        expect(coverageStep(half / 1.96 + 1e-9, style)).toBe(i + 1);
      });
    }
  });
});
