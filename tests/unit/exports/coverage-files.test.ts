import { describe, expect, it } from 'vitest';
import type { Coverage } from '../../../server/contract/coverage.js';
import { coverageCsv, coverageSvg } from '../../../server/exports/coverage-files.js';
import { gapReport } from '../../support/bench-plans.js';
import { readCsv } from '../../support/read-csv.js';

const coverage: Coverage = {
  cellMm: [50, 50],
  openEnds: [],
  origin: [0, 0],
  columns: 4,
  rows: 2,
  // 0.4, 0.8, 1.6 and 2.9 mm at 95 %, then what has no number.
  cells: [0.2, 0.2, 0.41, 0.82, 1.5, 'not-seen', 'covered', null],
  leastSure: { what: 'clearance', near: { side: 'A', part: 'left' }, u: 1.5, at: [25, 75] },
  helps: [{ kind: 'marker', near: { side: 'A', part: 'right' }, inwards: false, at: [175, 75], thenU: 0.5 }],
};
const report = { ...gapReport([50.8]), coverage };
const options = { style: { unit: 'mm', denominator: 16 }, accessories: [] } as const;

describe('the coverage picture as a drawing', () => {
  const svg = coverageSvg(report, options);

  it('tints neighbours of one step as one, and leaves out what is off the table', () => {
    const widths = [...svg.matchAll(/width="([\d.]+)" height="50" fill="(#\w+)"/g)].map((m) => `${m[1]} ${m[2]}`);
    expect(widths).toEqual(['100 #0072b2', '50 #56b4e9', '50 #f0e442', '50 #d55e00', '100 #7a7a7a']);
  });

  it('says what the tints mean and what would help most', () => {
    for (const words of ['good to ± 0.5 mm', 'worse than ± 2 mm', 'not seen', 'Put one more marker sheet near'])
      expect(svg).toContain(words);
  });

  it('says what to do where the measurement has no coverage', () => {
    expect(coverageSvg(gapReport([50.8]), options)).toContain('measure again');
    expect(coverageCsv(gapReport([50.8]))).toContain('measure again');
  });
});

describe('the coverage in numbers', () => {
  it('has a row for each cell of the table top, with its middle and its half width at 95 %', () => {
    const [head, worst, help, ...cells] = readCsv(coverageCsv(report));
    expect(head).toEqual(['what', 'x_mm', 'y_mm', 'plus_minus_mm_95', 'note']);
    expect(worst).toEqual(['least sure clearance', '25', '75', '2.94', 'the left end of side A']);
    expect(help.slice(0, 4)).toEqual(['one more marker', '175', '75', '0.98']);
    expect(cells).toHaveLength(7);
    expect(cells[0]).toEqual(['clearance', '25', '25', '0.392', '']);
    expect(cells[5]).toEqual(['clearance', '75', '75', '', 'not seen']);
  });
});
