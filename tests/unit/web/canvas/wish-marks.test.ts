import { describe, expect, test } from 'vitest';
import { noWishes, type Wishes } from '../../../../server/contract/wishes.js';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';
import { plannedLines } from '../../../../web/canvas/planned-marks.js';
import { pieceAt, putDown, roomUpTo, stayToggled } from '../../../../web/canvas/wish-by-touch.js';
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
    expect(wishHandles(report, wishes, frame).map((h) => h.id)).toEqual([
      'band:0',
      'bandFrom:0',
      'bandTo:0',
      'band:1',
      'bandFrom:1',
      'bandTo:1',
      'zone:0',
      'turn:0',
    ]);
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

  test('a band is dragged along its side by its ends, and runs on to a corner that it comes near', () => {
    const { length: l } = truth.table;
    const part = dragged(report, wishes, 'bandFrom:0', [400.3, 10], 1);
    expect(part.clearance[0]).toEqual({ side: 'A', atLeastMm: 50, fromMm: 400, toMm: l });
    const both = dragged(report, part, 'bandTo:0', [1200, -40], 1);
    expect(both.clearance[0]).toEqual({ side: 'A', atLeastMm: 50, fromMm: 400, toMm: 1200 });
    // It keeps a length that a finger can hold.
    expect(dragged(report, both, 'bandTo:0', [100, 0], 1).clearance[0].toMm).toBe(450);
    const again = dragged(report, dragged(report, both, 'bandFrom:0', [9, 0], 1), 'bandTo:0', [l - 9, 0], 1);
    expect(again.clearance[0]).toEqual({ side: 'A', atLeastMm: 50 });
  });

  test('a touch wishes room on the nearest side, up to the place touched', () => {
    const { length: l, width: w } = truth.table;
    const made = roomUpTo(report, noWishes, [l - 61, w / 2], 1);
    expect(made.clearance).toEqual([{ side: 'B', atLeastMm: 61 }]);
    const changed = roomUpTo(
      report,
      { ...noWishes, clearance: [{ side: 'B', atLeastMm: 61, fromMm: 5 }] },
      [l - 20, w / 2],
      1,
    );
    expect(changed.clearance).toEqual([{ side: 'B', atLeastMm: 20, fromMm: 5 }]);
    expect(roomUpTo(report, noWishes, [l + 30, w / 2], 1).clearance[0].atLeastMm).toBe(0);
  });

  test('a touch puts down a house where it lies, with a name of its own', () => {
    const house = { name: 'Small house', widthMm: 150, depthMm: 110 };
    const two = putDown(putDown(noWishes, house, [300.4, 200]), house, [700, 200.6]);
    expect(two.keepFree.map((z) => [z.name, z.centre])).toEqual([
      ['Small house', [300, 200]],
      ['Small house 2', [700, 201]],
    ]);
  });

  test('a touch makes the piece under it stay, draws it, and a second one lets it go', () => {
    const [run] = report.runs;
    const { from, to } = run.pieces[1];
    const at = pieceAt(report, [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2 + 5]);
    expect(at).toEqual({ run: run.id, piece: 1 });
    const stays = stayToggled(noWishes, run.id, 1);
    expect(stays.stay).toEqual([{ run: run.id, pieces: [1] }]);
    expect(wishMarks(report, stays, frame).map((m) => m.thing)).toEqual([`stay:${run.id}:1`]);
    expect(stayToggled(stays, run.id, 1).stay).toEqual([]);
    expect(pieceAt(report, [truth.table.length / 2, truth.table.width / 2])).toBeNull();
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
