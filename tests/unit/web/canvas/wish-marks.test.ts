import { describe, expect, test } from 'vitest';
import { noWishes, type Wishes } from '../../../../server/contract/wishes.js';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';
import { plannedLines } from '../../../../web/canvas/planned-marks.js';
import { dragged, wishHandles, wishMarks, zoneCorners } from '../../../../web/canvas/wish-marks.js';
import { reportFromTruth } from '../../../support/report-from-truth.js';
import { sceneTruth } from '../../../support/scene-truth.js';

const truth = sceneTruth('birch-oval');
const zone = {
  name: 'tower',
  centre: [500, 400] as [number, number],
  widthMm: 90,
  depthMm: 60,
  angleRad: 0,
  marginMm: 5,
};
const wishes: Wishes = {
  ...noWishes,
  clearance: [
    { side: 'A', atLeastMm: 50 },
    { side: 'C', atLeastMm: 30, fromMm: 100, toMm: 400 },
  ],
  keepFree: [zone],
};

describe.skipIf(!truth)('wishes on the picture', () => {
  if (!truth) return;
  const report = reportFromTruth(truth, 'photo.jpg');
  const frame = sheetFrame(report.table.outline);

  test('each wish is drawn, and has a handle', () => {
    expect(wishMarks(report, wishes, frame).map((m) => m.thing)).toEqual(['band:0', 'band:1', 'zone:0']);
    expect(wishHandles(report, wishes, frame).map((h) => h.id)).toEqual(['band:0', 'band:1', 'zone:0', 'turn:0']);
  });

  test('a handle dragged nowhere changes nothing', () => {
    for (const handle of wishHandles(report, wishes, frame)) {
      expect(dragged(report, wishes, handle.id, frame.tableFromPicture(handle.at, 0), 1)).toEqual(wishes);
    }
  });

  test('the wished distance is the distance of the place dragged to, on every side of the table', () => {
    const all: Wishes = { ...noWishes, clearance: ['A', 'B', 'C', 'D'].map((side) => ({ side, atLeastMm: 10 })) };
    const { length: l, width: w } = truth.table;
    const places: [number, number][] = [
      [l / 2, 77],
      [l - 77, w / 2],
      [l / 2, w - 77],
      [77, w / 2],
    ];
    places.forEach((place, i) => {
      expect(dragged(report, all, `band:${i}`, place, 1).clearance[i].atLeastMm).toBe(77);
      expect(dragged(report, all, `band:${i}`, [-500, w + 500], 1).clearance[i].atLeastMm).toBeGreaterThanOrEqual(0);
    });
  });

  test('a house moves by its middle and turns by its other handle, in steps of 5°', () => {
    expect(dragged(report, wishes, 'zone:0', [610.4, 333.6], 1).keepFree[0].centre).toEqual([610, 334]);
    const turned = dragged(report, wishes, 'turn:0', [500, 500], 1).keepFree[0];
    expect(turned.angleRad).toBeCloseTo(Math.PI / 2, 9);
    expect(dragged(report, wishes, 'zone:7', [0, 0], 1)).toBe(wishes);
  });

  test('corners of a turned zone keep its size', () => {
    const [a, b, c] = zoneCorners({ ...zone, angleRad: 0.7 }, 0);
    expect(Math.hypot(b[0] - a[0], b[1] - a[1])).toBeCloseTo(90, 9);
    expect(Math.hypot(c[0] - b[0], c[1] - b[1])).toBeCloseTo(60, 9);
  });

  test('a plan that changes nothing is drawn where the track lies, and a longer stretch moves what follows', () => {
    const base = {
      format: 'gapwright-plan/1' as const,
      stretches: [],
      fillers: [],
      donors: [],
      shift: {},
      predicted: { clearances: [], closing: [] },
      unmet: [],
      warnings: [],
    };
    const still = plannedLines(report, base);
    expect(still).toHaveLength(report.runs[0].pieces.length);
    expect(still[0][1][0]).toEqual(report.runs[0].pieces[0].from);
    const moved = plannedLines(report, { ...base, shift: { A: [3, -4] } });
    expect(moved[0][1][0][0] - still[0][1][0][0]).toBeCloseTo(3, 9);
    const straights = report.runs[0].pieces.flatMap((p, i) => (p.kind === 'straight' ? [i] : []));
    const first = straights[0];
    const piece = report.runs[0].pieces[first];
    if (piece.kind !== 'straight') return;
    const longer = plannedLines(report, {
      ...base,
      stretches: [
        {
          run: 'A',
          pieces: [first],
          headingRad: piece.headingRad,
          nowMm: piece.length.value,
          thenMm: piece.length.value + 25,
          made: [],
        },
      ],
    });
    const next = report.runs[0].pieces[first + 1].from;
    const drawn = longer[1][1][0];
    expect(Math.hypot(drawn[0] - next[0], drawn[1] - next[1])).toBeCloseTo(25, 6);
  });
});
