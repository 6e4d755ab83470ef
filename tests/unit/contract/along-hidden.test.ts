import { describe, expect, it } from 'vitest';
import { alongHidden } from '../../../server/contract/along-hidden.js';
import { ovalReport } from '../../support/bench-plans.js';

const report = ovalReport([50.8]);
const [run] = report.runs;
const curve = run.pieces.find((p) => p.kind === 'curve');
if (curve?.kind !== 'curve') throw new Error('an oval has curves');
const radiusMm = Math.hypot(curve.from[0] - curve.centre[0], curve.from[1] - curve.centre[1]);
const onTurn = (rad: number): [number, number] => [
  curve.centre[0] + radiusMm * Math.cos(rad),
  curve.centre[1] + radiusMm * Math.sin(rad),
];
const hidden = (from: [number, number], to: [number, number]) => ({ run: run.id, from, to, why: 'covered' });

describe('the line of what was not seen', () => {
  it('is bent where the hidden track is, whichever way it is told', () => {
    for (const [a, b] of [
      [-0.4, 0.4],
      [0.4, -0.4],
    ]) {
      const line = alongHidden(report, hidden(onTurn(a), onTurn(b)));
      expect(line.length).toBeGreaterThan(10);
      expect([line[0], line.at(-1)]).toEqual([onTurn(a), onTurn(b)]);
      for (const [x, y] of line)
        expect(Math.abs(Math.hypot(x - curve.centre[0], y - curve.centre[1]) - radiusMm)).toBeLessThan(0.5);
      const lengthMm = line.slice(1).reduce((mm, p, i) => mm + Math.hypot(p[0] - line[i][0], p[1] - line[i][1]), 0);
      expect(Math.abs(lengthMm - 0.8 * radiusMm)).toBeLessThan(1);
    }
  });

  it('goes the short way where a loop begins within it', () => {
    const start = run.pieces[0].from;
    const last = run.pieces[run.pieces.length - 1];
    if (last.kind !== 'curve') throw new Error('the loop ends in a curve');
    const before = last.from;
    const line = alongHidden(report, hidden([before[0], before[1]], [start[0] + 40, start[1]]));
    const lengthMm = line.slice(1).reduce((mm, p, i) => mm + Math.hypot(p[0] - line[i][0], p[1] - line[i][1]), 0);
    expect(Math.abs(lengthMm - (Math.abs(last.sweepRad) * radiusMm + 40))).toBeLessThan(2);
  });

  it('is straight on a straight, and where the run is not known', () => {
    const [part] = report.notSeen;
    expect(alongHidden(report, part)).toEqual([part.from, part.to]);
    expect(alongHidden(report, { ...part, run: 'R9' })).toEqual([part.from, part.to]);
  });
});
