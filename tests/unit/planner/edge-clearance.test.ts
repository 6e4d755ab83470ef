import { describe, expect, it } from 'vitest';
import { nearestToSide } from '../../../server/planner/edge-clearance.js';
import { tableShape } from '../../../server/planner/table-shape.js';
import type { TrackLine } from '../../../server/planner/track-line.js';
import { makeReport, rectangle } from '../../support/make-report.js';

const faceMm = 20;
const line = (from: [number, number], to: [number, number]): TrackLine => ({
  run: 'R1',
  closed: false,
  strokes: [{ kind: 'line', from, to }],
});
const tableOf = (outline: [number, number][]) => tableShape(makeReport({ runs: [], outline }));

describe('rail-to-edge clearance', () => {
  it('is measured square to the side from the nearer rail face', () => {
    const table = tableOf(rectangle(1000, 500));
    const near = nearestToSide(line([200, 100], [600, 100]), table.sides[0], table, faceMm);
    expect(near?.distanceMm).toBeCloseTo(80, 9);
    expect(nearestToSide(line([200, 100], [600, 100]), table.sides[2], table, faceMm)?.distanceMm).toBeCloseTo(380, 9);
  });

  it('is negative where rails hang over the edge', () => {
    const table = tableOf(rectangle(1000, 500));
    expect(nearestToSide(line([200, 10], [600, 10]), table.sides[0], table, faceMm)?.distanceMm).toBeCloseTo(-10, 9);
  });

  it('is the same for a clockwise outline', () => {
    const table = tableOf([...rectangle(1000, 500)].reverse());
    const all = table.sides.map(
      (s) => nearestToSide(line([200, 100], [600, 100]), s, table, faceMm)?.distanceMm ?? NaN,
    );
    expect(Math.min(...all)).toBeCloseTo(80, 9);
  });

  it('counts only the part of a side that is asked for, to where the rail face leaves it', () => {
    const table = tableOf(rectangle(1000, 500));
    const slant = line([100, 100], [900, 300]);
    const range = { fromMm: 500, toMm: 700 };
    const near = nearestToSide(slant, table.sides[0], table, faceMm, range);
    const cos = Math.cos(Math.atan2(200, 800));
    expect(near?.distanceMm).toBeCloseTo(200 - faceMm / cos, 6);
    expect(nearestToSide(slant, table.sides[0], table, faceMm, { fromMm: 950, toMm: 1000 })).toBeNull();
  });

  it('finds the lowest place of an arc, also where only part of it faces the range', () => {
    const table = tableOf(rectangle(1000, 500));
    const arc: TrackLine = {
      run: 'R1',
      closed: false,
      strokes: [{ kind: 'arc', from: [300, 250], centre: [500, 250], sweepRad: Math.PI }],
    };
    expect(nearestToSide(arc, table.sides[0], table, faceMm)?.distanceMm).toBeCloseTo(250 - 220, 9);
    const part = nearestToSide(arc, table.sides[0], table, faceMm, { fromMm: 600, toMm: 1000 });
    expect(part?.distanceMm).toBeCloseTo(250 - Math.sqrt(220 ** 2 - 100 ** 2), 6);
  });

  it('does not look through the inside corner of an L-shaped table', () => {
    const table = tableOf([
      [0, 0],
      [2000, 0],
      [2000, 600],
      [800, 600],
      [800, 1500],
      [0, 1500],
    ]);
    const [, , step, wall] = table.sides;
    const inArm = line([100, 700], [100, 1400]);
    expect(nearestToSide(inArm, step, table, faceMm)).toBeNull();
    expect(nearestToSide(inArm, wall, table, faceMm)?.distanceMm).toBeCloseTo(680, 9);
    const below = line([1000, 500], [1500, 500]);
    expect(nearestToSide(below, step, table, faceMm)?.distanceMm).toBeCloseTo(80, 9);
    expect(nearestToSide(below, wall, table, faceMm)).toBeNull();
  });
});
