import { describe, expect, it } from 'vitest';
import { jointName } from '../../../server/contract/joint-names.js';
import type { Report } from '../../../server/contract/report.js';

/** Four joints, listed in another order than along their runs. */
const report = {
  runs: [{ id: 'R1' }, { id: 'R2' }],
  joints: [
    { id: 'R2-J1', run: 'R2', open: true, pieces: [0, 1] },
    { id: 'R1-J7', run: 'R1', open: true, pieces: [6, 7] },
    { id: 'R1-J2', run: 'R1', open: false, pieces: [1, 2] },
    { id: 'R1-J4', run: 'R1', open: true, pieces: [3, 4] },
  ],
} as unknown as Report;

describe('what a joint is called', () => {
  it.each([
    ['R1-J4', 'Gap 1'],
    ['R1-J7', 'Gap 2'],
    ['R2-J1', 'Gap 3'],
    ['R1-J2', 'Joint 1'],
  ])('%s is %s: run by run, along the run, gaps apart from closed joints', (id, name) => {
    expect(jointName(report, id)).toBe(name);
  });

  it('is its id where the report has no such joint', () => {
    expect(jointName(report, 'R9-J1')).toBe('R9-J1');
  });
});
