import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../../server/geometry/camera.js';
import { carryJoints } from '../../../server/pipeline/carry-joints.js';
import { parseTrackProfile } from '../../../server/scene/parse-track-profile.js';
import type { RailTrace } from '../../../server/scene/rail-trace.js';
import { lengthOf, placeAt } from '../../../server/stages/joints/rail-strips.js';
import { carryTrace } from '../../../server/stages/rails/carry-trace.js';
import { centreLineOf } from '../../../server/stages/rails/centre-line.js';

const profile = parseTrackProfile('tall');
if (!profile.ok) throw new Error(profile.problem.code);
const track = profile.value;
const heightMm = track.railTopMm - track.headWidthMm / 2;

/** Above the middle of the table, looking straight down. */
const cameraOf = (fx: number, z: number): Camera => ({
  lens: { fx, fy: fx, cx: 2015.5, cy: 1511.5, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-600, 400, z] },
});
/** The second sees everything one percent larger on the table, and with it 1.5 px farther to the right. */
const before = cameraOf(3000, 1800);
const now = { ...cameraOf(3000, 1818), lens: { ...before.lens, cx: 2014 } };

function traceOf(closed: boolean): RailTrace {
  const samples = Array.from({ length: closed ? 300 : 120 }, (_, i) => {
    const angle = (2 * Math.PI * i) / 300;
    return {
      x: closed ? 600 + 380 * Math.cos(angle) : 200 + 8 * i,
      y: closed ? 400 + 380 * Math.sin(angle) : 420,
      headingRad: closed ? angle + Math.PI / 2 : 0,
      sidewaysMm: [0, 0, 0] as const,
    };
  });
  return { photo: 0, closed, stepMm: 8, light: { x: 0, y: 0, z: 2000 }, samples };
}

const gap = { value: 20, u: 0.3 };
const joint = (s: number) => ({ s, open: true, gapMm: gap, railsMm: [gap, null, gap] as const });

describe('joints carried over to a camera solved anew', () => {
  it.each([false, true])('lie where the photo shows them, and gaps grow with the table (closed: %s)', (closed) => {
    const trace = traceOf(closed);
    const from = { along: centreLineOf(trace), camera: before };
    const to = { along: centreLineOf(carryTrace(trace, before, now, track)), camera: now };
    const length = lengthOf(from.along.line);
    const found = {
      joints: [joint(3), joint(411.3)],
      hidden: [{ fromS: 500, toS: 560 }],
      fromS: closed ? 0 : -12,
      toS: closed ? length : length + 9,
    };
    const carried = carryJoints(found, from, to, track);
    const offMm = (s: number, carriedS: number): number => {
      const p = placeAt(from.along.line, s);
      const inPhoto = photoFromTable(before, p.x, p.y, heightMm);
      const there = tableFromPhotoAtHeight(now, inPhoto.x, inPhoto.y, heightMm);
      const q = placeAt(to.along.line, carriedS);
      return Math.hypot(q.x - there.x, q.y - there.y);
    };
    found.joints.forEach((j, i) => {
      expect(offMm(j.s, carried.joints[i].s)).toBeLessThan(0.1);
    });
    expect(offMm(500, carried.hidden[0].fromS)).toBeLessThan(0.1);
    expect(offMm(560, carried.hidden[0].toS)).toBeLessThan(0.1);
    expect(offMm(found.fromS, carried.fromS)).toBeLessThan(0.1);
    expect(offMm(found.toS, carried.toS)).toBeLessThan(0.1);
    // Lengths at the height of the rails go as the distance from the camera to them.
    const growth = (1818 - heightMm) / (1800 - heightMm);
    for (const { gapMm, railsMm } of carried.joints) {
      for (const one of [gapMm, railsMm[0], railsMm[2]]) expect(one?.value).toBeCloseTo(20 * growth, 1);
      expect(railsMm[1]).toBeNull();
    }
  });

  it('takes along where rails end behind a cover', () => {
    const trace = traceOf(false);
    const from = { along: centreLineOf(trace), camera: before };
    const to = { along: centreLineOf(carryTrace(trace, before, now, track)), camera: now };
    const toBeyond = { x: 1400, y: 420, uMm: 1.5 };
    const carried = carryJoints({ joints: [], hidden: [], fromS: 0, toS: 952, toBeyond }, from, to, track);
    const p = photoFromTable(before, 1400, 420, heightMm);
    const { x, y } = tableFromPhotoAtHeight(now, p.x, p.y, heightMm);
    expect(carried.toBeyond).toEqual({ x, y, uMm: 1.5 });
    expect(carried.fromBeyond).toBeUndefined();
  });
});
