import { describe, expect, it } from 'vitest';
import { chainsOf } from '../../../server/planner/chain.js';
import { makeReport, rectangle } from '../../support/make-report.js';
import { ovalReport } from './plan-scene.js';

const s = (straight: number) => ({ straight });

describe('sorting a report into curves and stretches', () => {
  it('finds one stretch for each row of straights, with the gaps between and beside them', () => {
    const [chain] = chainsOf(ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(127), { gap: 50.8 }]));
    expect(chain.stretches.map((x) => x.pieces)).toEqual([
      [0, 1],
      [6, 7],
    ]);
    expect(chain.stretches[0].gaps.map((g) => g.open)).toEqual([false, true, false]);
    expect(chain.stretches[1].gaps.map((g) => g.open)).toEqual([false, false, true]);
    expect(chain.stretches[1].headingRad).toBeCloseTo(Math.PI, 9);
    expect(chain.sweepRad).toBeCloseTo(2 * Math.PI, 9);
  });

  it('joins a row that goes round the end of the list of pieces', () => {
    const report = ovalReport([s(100), s(254)], [s(354)]);
    const { pieces } = report.runs[0];
    report.runs[0].pieces = [...pieces.slice(1), pieces[0]];
    report.joints = [];
    const [chain] = chainsOf(report);
    expect(chain.stretches.map((x) => x.pieces)).toContainEqual([10, 0]);
    expect(chain.elements[0]).toMatchObject({ kind: 'stretch', stretch: { pieces: [10, 0] } });
  });

  it('finds the joint of a gap by its place when the report does not say which pieces it joins', () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(177.8)]);
    for (const joint of report.joints) delete joint.pieces;
    const [chain] = chainsOf(report);
    expect(chain.stretches[0].gaps[1]).toMatchObject({ open: true, joint: 'R1-J1' });
  });

  it('takes a gap between two curves as a stretch without pieces', () => {
    const [chain] = chainsOf(ovalReport([{ gap: 76.2 }], [s(76.2)]));
    expect(chain.stretches.filter((x) => x.pieces.length === 0)).toHaveLength(1);
    expect(chain.stretches.find((x) => x.pieces.length === 0)?.headingRad).toBeCloseTo(0, 9);
  });

  it('ends a row at track that was not seen', () => {
    const sections = [s(254), { gap: 300 }, s(254)];
    const run = { id: 'R1', closed: false, start: [100, 100] as const, headingDeg: 0, sections };
    const report = makeReport({ runs: [run], outline: rectangle(1500, 500) });
    report.joints = [];
    expect(chainsOf(report)[0].stretches.map((x) => x.pieces)).toEqual([[0], [1]]);
  });
});
