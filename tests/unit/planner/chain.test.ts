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

  it('does not take an open joint whose ends point different ways for a gap that a straight fills', () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(177.8)]);
    const [piece] = report.runs[0].pieces.slice(1, 2);
    if (piece.kind !== 'straight') throw new Error('a straight follows the gap');
    const turned = (25 * Math.PI) / 180;
    piece.to = [piece.from[0] + 127 * Math.cos(turned), piece.from[1] + 127 * Math.sin(turned)];
    piece.headingRad = turned;
    const [chain] = chainsOf(report);
    expect(chain.bentGaps).toMatchObject([{ joint: 'R1-J1', lengthMm: 50.8 }]);
    expect(chain.bentGaps[0].kinkRad).toBeCloseTo(turned, 9);
    expect(chain.stretches.every((x) => x.gaps.every((g) => !g.open))).toBe(true);
  });

  it('knows which sections have an end that was not seen as a joint, where the report tells of joints at all', () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(177.8)]);
    expect([...chainsOf(report)[0].doubtful]).toEqual([]);
    const withoutOne = { ...report, joints: report.joints.filter((j) => j.id !== 'R1-J2') };
    expect([...chainsOf(withoutOne)[0].doubtful]).toEqual([1]);
    const onlyOpen = { ...report, joints: report.joints.filter((j) => j.open) };
    expect([...chainsOf(onlyOpen)[0].doubtful]).toEqual([]);
  });

  it('takes a gap for less sure where its three rails disagree', () => {
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(177.8)]);
    const rail = (value: number) => ({ value, u: 0.2 });
    const open = report.joints.find((j) => j.open);
    if (!open) throw new Error('one joint is open');
    open.rails = { left: rail(51.8), centre: rail(49.3), right: rail(51.3) };
    expect(chainsOf(report)[0].stretches[0].gaps[1].length.u).toBeCloseTo(2.25 * Math.sqrt(2 / 9), 9);
    // A joint that is only askew has its middle rail half way between the others.
    open.rails = { left: rail(52.8), centre: rail(50.8), right: rail(48.8) };
    expect(chainsOf(report)[0].stretches[0].gaps[1].length.u).toBeCloseTo(0.2, 9);
  });
});
