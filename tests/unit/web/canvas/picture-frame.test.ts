import { describe, expect, test } from 'vitest';
import { marksOf } from '../../../../web/canvas/marks.js';
import { photoFrame, planFrame, sheetFrame } from '../../../../web/canvas/picture-frame.js';
import { reportFromTruth } from '../../../support/report-from-truth.js';
import { sceneTruth } from '../../../support/scene-truth.js';

// Projections in the truth files are good to about 0.001 px (samples/README.md).
const tolerancePx = 0.02;
const scenes = ['birch-oval', 'grass-mat-low-track', 'two-loops-left', 'old-door-lamplight', 'three-straights'];

describe.each(scenes)('drawing on the photo %s', (name) => {
  const truth = sceneTruth(name);

  test.skipIf(!truth)(
    'puts the ends of straight rails where they are in the picture, lens distortion and height counted',
    () => {
      if (!truth) return;
      const report = reportFromTruth(truth, 'photo.jpg');
      const marks = marksOf(report, photoFrame(report.photos[0]));
      let compared = 0;
      for (const run of report.runs) {
        const ids = truth.chains.find((c) => c.id === run.id)?.sections ?? [];
        run.pieces.forEach((piece, i) => {
          const section = truth.sections.find((s) => s.id === ids[i]);
          const mark = marks.find((m) => m.key === `rails ${run.id} ${i}`);
          if (piece.kind !== 'straight' || !section || !mark || mark.lines.length < 3) return;
          (['left', 'centre', 'right'] as const).forEach((rail, k) => {
            const expected = section.rails_px[rail];
            const line = mark.lines[k];
            for (const [got, want] of [
              [line[0], expected[0]],
              [line[line.length - 1], expected[expected.length - 1]],
            ] as const) {
              // Points far outside the picture are given up on purpose.
              if (!got || want[0] < 0 || want[1] < 0 || want[0] > truth.camera.width || want[1] > truth.camera.height)
                continue;
              compared++;
              expect(Math.hypot(got.x - want[0], got.y - want[1])).toBeLessThan(tolerancePx);
            }
          });
        });
      }
      expect(compared).toBeGreaterThan(5);
    },
  );

  test.skipIf(!truth)('puts table corners and the foot of each clearance where they are', () => {
    if (!truth) return;
    const report = reportFromTruth(truth, 'photo.jpg');
    const frame = photoFrame(report.photos[0]);
    truth.table.corners.forEach((corner, i) => {
      const got = frame.pictureFromTable(corner[0], corner[1], 0);
      const want = truth.table.corners_px[i];
      if (!got || want[0] < 0 || want[0] > truth.camera.width || want[1] < 0 || want[1] > truth.camera.height) return;
      expect(Math.hypot(got.x - want[0], got.y - want[1])).toBeLessThan(tolerancePx);
    });
  });

  test.skipIf(!truth)('goes back from the picture to the table at the same height', () => {
    if (!truth) return;
    const report = reportFromTruth(truth, 'photo.jpg');
    const frame = photoFrame(report.photos[0]);
    for (const [x, y, z] of [
      [300, 200, 0],
      [900, 500, 17.5],
      [1200, 300, 8],
    ]) {
      const p = frame.pictureFromTable(x, y, z);
      if (!p) continue;
      const back = frame.tableFromPicture(p, z);
      expect(Math.hypot(back[0] - x, back[1] - y)).toBeLessThan(1e-6);
    }
  });
});

describe('the plan view', () => {
  const truth = sceneTruth('birch-oval');
  const view = {
    widthPx: 955,
    heightPx: 650,
    mmPerPx: 2,
    originInTable: [-40, 1260] as [number, number],
    heightMm: 17.5,
  };

  test('is true at its own height, whatever the camera', () => {
    if (!truth) return;
    const report = reportFromTruth(truth, 'photo.jpg');
    for (const photos of [report.photos, []]) {
      const p = planFrame(view, photos).pictureFromTable(400, 300, 17.5);
      expect(p).toEqual({ x: 220, y: 480 });
    }
  });

  test('shows what lies on the table where the only photo saw it: outwards from below the camera', () => {
    if (!truth) return;
    const report = reportFromTruth(truth, 'photo.jpg');
    const frame = planFrame(view, report.photos);
    const [cx, cy, cz] = (truth.camera as unknown as { position: number[] }).position;
    const corner = frame.pictureFromTable(1830, 1220, 0);
    // Similar triangles: a point at z = 0 shows at rail top nearer to the camera's foot by the share h / H.
    const share = 1 - 17.5 / cz;
    const expected = { x: (cx + (1830 - cx) * share + 40) / 2, y: (1260 - (cy + (1220 - cy) * share)) / 2 };
    expect(corner?.x).toBeCloseTo(expected.x, 3);
    expect(corner?.y).toBeCloseTo(expected.y, 3);
    const back = frame.tableFromPicture(corner ?? { x: 0, y: 0 }, 0);
    expect(back[0]).toBeCloseTo(1830, 6);
    expect(back[1]).toBeCloseTo(1220, 6);
  });

  test('with several photos draws everything at its true place', () => {
    if (!truth) return;
    const report = reportFromTruth(truth, 'photo.jpg');
    const p = planFrame(view, [...report.photos, ...report.photos]).pictureFromTable(0, 0, 0);
    expect(p).toEqual({ x: 20, y: 630 });
  });
});

test('an empty sheet has the whole table on it, y upwards', () => {
  const frame = sheetFrame([
    [0, 0],
    [1000, 0],
    [1000, 500],
    [0, 500],
  ]);
  const low = frame.pictureFromTable(0, 0, 0);
  const high = frame.pictureFromTable(1000, 500, 17);
  expect(low && high && low.x < high.x && low.y > high.y).toBe(true);
  for (const p of [low, high]) {
    expect(p?.x).toBeGreaterThan(0);
    expect(p?.x).toBeLessThan(frame.width);
    expect(p?.y).toBeGreaterThan(0);
    expect(p?.y).toBeLessThan(frame.height);
  }
});
