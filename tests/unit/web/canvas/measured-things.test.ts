import { describe, expect, test } from 'vitest';
import { ruledGap } from '../../../../server/contract/gap-readings.js';
import { labelWishes, marksOf } from '../../../../web/canvas/marks.js';
import { measuredThings, profileThing, thingsByRule } from '../../../../web/canvas/measured-things.js';
import { nearestThing } from '../../../../web/canvas/nearest-thing.js';
import { photoFrame } from '../../../../web/canvas/picture-frame.js';
import { along, profileOfSide, profilePointAt, scaleSteps } from '../../../../web/canvas/profile-curve.js';
import { reportFromTruth } from '../../../support/report-from-truth.js';
import { sceneTruth } from '../../../support/scene-truth.js';

const truth = sceneTruth('green-table-oval');

describe.skipIf(!truth)('what was measured', () => {
  const report = truth ? reportFromTruth(truth, 'photo.jpg') : null;

  test('every open gap, clearance, side and joint is one thing with a name of its own', () => {
    if (!report) return;
    const things = measuredThings(report);
    expect(new Set(things.map((t) => t.id)).size).toBe(things.length);
    expect(new Set(things.map((t) => t.name)).size).toBe(things.length);
    expect(things.filter((t) => t.kind === 'gap')).toHaveLength(report.joints.filter((j) => j.open).length);
    expect(things.filter((t) => t.kind === 'side')).toHaveLength(4);
  });

  test('a gap in which a rule was laid is as long as counts there, and no other thing changes', () => {
    if (!report) return;
    const things = measuredThings(report);
    const [first] = things;
    const joint = first.id.slice('joint:'.length);
    for (const [offMm, toldBy] of [
      [9, 'rule'],
      [0.1, 'photo and rule'],
    ] as const) {
      const ruled = ruledGap(joint, { value: first.length.value + offMm, u: 0.3 }, first.length);
      const read = thingsByRule(things, [ruled]);
      expect(read[0]).toEqual({ ...first, length: ruled.length, toldBy });
      expect(read.slice(1)).toEqual(things.slice(1));
    }
  });

  test('touching a gap in the middle finds that gap, on every photo', () => {
    if (!report || !truth) return;
    const marks = marksOf(report, photoFrame(report.photos[0]));
    for (const joint of report.joints.filter((j) => j.open)) {
      const [x, y] = joint.seen[0].px;
      expect(nearestThing(marks, { x, y }, 25)).toBe(`joint:${joint.id}`);
    }
    expect(nearestThing(marks, { x: -500, y: -500 }, 25)).toBeNull();
  });

  test('the tightest clearance and each gap ask for their labels first, gaps for their own area to stay free', () => {
    if (!report) return;
    const marks = marksOf(report, photoFrame(report.photos[0]));
    const wishes = labelWishes(marks, measuredThings(report), null);
    const gaps = report.joints.filter((j) => j.open).length;
    expect(wishes.slice(1, gaps + 1).every((w) => w.thing.startsWith('joint:') && w.keepFree.length > 0)).toBe(true);
    // The tightest clearance is written whatever else there is no room for, the others by how tight they are.
    const things = measuredThings(report);
    const lengthOf = (id: string): number => things.find((t) => t.id === id)?.length.value ?? Number.NaN;
    const written = wishes.filter((w) => w.thing.startsWith('clearance')).map((w) => lengthOf(w.thing));
    expect(written.length).toBeGreaterThan(1);
    expect(written).toEqual([...written].sort((a, b) => a - b));
    expect(lengthOf(wishes[0].thing)).toBe(written[0]);
    const chosen = labelWishes(marks, measuredThings(report), 'side:C');
    expect(chosen[0].thing).toBe('side:C');
  });

  test('the profile of a side runs along it, and its smallest point is the clearance', () => {
    if (!report) return;
    for (const side of report.table.sides) {
      const points = profileOfSide(report, side.name).flatMap((s) => s.points);
      if (points.length === 0) continue;
      for (const part of profileOfSide(report, side.name)) {
        const positions = part.points.map((p) => p.alongMm);
        expect([...positions].sort((a, b) => a - b)).toEqual(positions);
      }
      const smallest = Math.min(...points.map((p) => p.distanceMm));
      const clearance = report.clearances.find((c) => c.side === side.name);
      expect(Math.abs(smallest - (clearance?.distance.value ?? 0))).toBeLessThan(1);
      const middle = profilePointAt(profileOfSide(report, side.name), side.length.value / 2);
      expect(profileThing(report, `profile:${middle?.index}`)?.length.value).toBe(middle?.distanceMm);
    }
    expect(profileThing(report, 'profile:999999')).toBeNull();
    expect(profileThing(report, 'joint:x')).toBeNull();
  });
});

test('a position along a side counts from where the side begins', () => {
  expect(along({ from: [100, 0], to: [0, 0] }, [70, 55])).toBeCloseTo(30, 9);
});

test('scale steps are whole inches or round millimetres and reach the top', () => {
  expect(scaleSteps(290, 4, 25.4).map((mm) => mm / 25.4)).toEqual([0, 5, 10, 15]);
  expect(scaleSteps(95, 4, 1)).toEqual([0, 50, 100]);
  expect(scaleSteps(0.4, 4, 1).at(-1)).toBeGreaterThanOrEqual(0.4);
});
