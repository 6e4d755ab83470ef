import { describe, expect, test } from 'vitest';
import { alongPiece } from '../../../../server/contract/along-piece.js';
import type { ReportPiece } from '../../../../server/contract/report.js';
import { endFaces, footOnSide, headingAt } from '../../../../web/canvas/track-lines.js';
import { reportFromTruth } from '../../../support/report-from-truth.js';
import { sceneTruth } from '../../../support/scene-truth.js';

const curve: ReportPiece = {
  kind: 'curve',
  from: [381, 0],
  to: [0, 381],
  centre: [0, 0],
  sweepRad: Math.PI / 2,
  radius: { value: 381, u: 0.5 },
};

describe('alongPiece', () => {
  test('stays on the circle; left of a left-hand curve is the inside', () => {
    for (const [offset, radius] of [
      [0, 381],
      [18, 363],
      [-18, 399],
    ]) {
      const points = alongPiece(curve, offset);
      for (const p of points) expect(Math.hypot(p[0], p[1])).toBeCloseTo(radius, 9);
    }
    expect(alongPiece(curve, 0).at(-1)?.[1]).toBeCloseTo(381, 9);
  });

  test('left of a right-hand curve is the outside', () => {
    const right: ReportPiece = { ...curve, from: [0, 381], to: [381, 0], sweepRad: -Math.PI / 2 };
    for (const p of alongPiece(right, 18)) expect(Math.hypot(p[0], p[1])).toBeCloseTo(399, 9);
  });

  test('left of a straight that runs along x is towards y', () => {
    const straight: ReportPiece = {
      kind: 'straight',
      from: [0, 0],
      to: [254, 0],
      headingRad: 0,
      length: { value: 254, u: 0.2 },
    };
    for (const p of alongPiece(straight, 18)) expect(p[1]).toBeCloseTo(18, 9);
  });
});

test('the heading at the ends of a curve is square to its radius', () => {
  expect(headingAt(curve, 'from')).toBeCloseTo(Math.PI / 2, 9);
  expect(headingAt(curve, 'to')).toBeCloseTo(Math.PI, 9);
});

const truth = sceneTruth('birch-oval');
test.skipIf(!truth)('end faces of a gap are as far apart as the gap, square to the track', () => {
  if (!truth) return;
  const report = reportFromTruth(truth, 'photo.jpg');
  for (const joint of report.joints.filter((j) => j.open)) {
    const [before, after] = endFaces(report, joint);
    const [a, b] = [before[2], after[2]];
    expect(Math.hypot(b[0] - a[0], b[1] - a[1])).toBeCloseTo(joint.gap.value, 6);
    const across = [before[0][0] - before[4][0], before[0][1] - before[4][1]];
    const along = [b[0] - a[0], b[1] - a[1]];
    const cosine = (across[0] * along[0] + across[1] * along[1]) / (Math.hypot(...across) * Math.hypot(...along));
    expect(Math.abs(cosine)).toBeLessThan(0.02);
  }
});

test('the foot on a side is square below the point', () => {
  expect(footOnSide({ from: [0, 0], to: [100, 0] }, [30, 40])).toEqual([30, 0]);
});
