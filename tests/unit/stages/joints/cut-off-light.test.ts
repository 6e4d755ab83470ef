import { describe, expect, it } from 'vitest';
import { timesWhite } from '../../../../server/stages/joints/cut-off-light.js';
import type { RailPart } from '../../../../server/stages/joints/rail-parts.js';

const columns = 15;
const rows = 60;

/** A head whose light is a normal curve across, as many times white at its middle as is said, cut off. */
function shining(times: number, halfWidth: number): RailPart {
  const brightest = Float32Array.from({ length: columns }, (_, k) =>
    Math.min(1, times * Math.exp(-(((k - 7) / halfWidth) ** 2) / 2)),
  );
  const data = new Float32Array(rows * columns).fill(0.5);
  return {
    part: 'head',
    rail: 0,
    acrossMm: 0,
    strip: { rail: 0, stepMm: 0.5, rows, columns, acrossStepMm: 0.3, data },
    columnsAt: () => Array.from({ length: columns }, (_, k) => k),
    slopesAt: () => ({ along: 0, left: 0 }),
    shiftMmAt: () => 0,
    overFlangeMm: 10.5,
    faceMmAt: () => 0,
    brightestAt: () => brightest,
  };
}

describe('light that a photo cut off', () => {
  it.each([
    { times: 1.3, halfWidth: 3 },
    { times: 1.6, halfWidth: 2.5 },
    { times: 2, halfWidth: 3 },
  ])('is told from how wide it is cut off and how steep it is beside that: $times times white', (shine) => {
    const middle = timesWhite(shining(shine.times, shine.halfWidth), 25, 1)[7];
    expect(Math.log(middle)).toBeGreaterThan(0.6 * Math.log(shine.times));
    expect(Math.log(middle)).toBeLessThan(1.6 * Math.log(shine.times));
  });

  it('is none where the photo kept it, and less towards the sides', () => {
    expect([...timesWhite(shining(0.9, 3), 25, 1)]).toEqual(new Array(columns).fill(1));
    const times = timesWhite(shining(2, 3), 25, -1);
    expect(times[7]).toBeGreaterThan(times[5]);
    expect(times[5]).toBeGreaterThan(1);
    expect(times[0]).toBe(1);
  });
});
