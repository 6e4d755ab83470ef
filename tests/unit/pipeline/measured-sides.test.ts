import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../server/geometry/camera.js';
import { tablePoint } from '../../../server/geometry/frames.js';
import type { SideArc } from '../../../server/pipeline/adjust-table.js';
import { measuredSides } from '../../../server/pipeline/layout-parts.js';
import { pointOnArc } from '../../../server/scene/track-observation.js';
import type { AdjustmentState } from '../../../server/stages/camera/adjustment-state.js';

type Corner = readonly [number, number];

/** Straight down from 2 m: what matters here is the order of the sides, not the lens. */
const camera: Camera = {
  lens: { fx: 3000, fy: 3000, cx: 2000, cy: 1500, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, 2000] },
};

const stateWith = (turnRad: number): AdjustmentState => ({
  lenses: [camera.lens],
  lensOfPhoto: [0],
  cameras: [camera],
  markers: [{ id: 4, x: 0, y: 0, turnRad }],
  arcs: [],
  straight: [],
  printScale: 1,
  gaugeScale: 1,
  railTopOffMm: 0,
});

/** The sides of an outline as measuring sees them: points of the photo that stop short of the corners. */
function sidesOf(corners: readonly Corner[], given: boolean): SideArc[] {
  return corners.map((a, i) => {
    const b = corners[(i + 1) % corners.length];
    const headingRad = Math.atan2(b[1] - a[1], b[0] - a[0]);
    const [x, y] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const points = [0.1, 0.5, 0.9].map((t) => {
      const p = photoFromTable(camera, a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), 0);
      return { px: p.x, py: p.y, sigmaPx: 0.2, normal: [0, 0] as const };
    });
    const lineInTable = {
      through: tablePoint(x, y),
      direction: [Math.cos(headingRad), Math.sin(headingRad)] as const,
    };
    const side = { points, lineInTable, certainty: 1, seenRatio: 1 };
    const arc = { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 };
    return { arc, seen: [{ photo: 0, side }], ...(given ? { place: i } : {}) };
  });
}

/** To the millimetre, without negative zeros. */
const whole = ({ x, y }: { x: number; y: number }): Corner => [Math.round(x) + 0, Math.round(y) + 0];

const measured = (corners: readonly Corner[], given: boolean, turnRad = 0.2) => {
  const sides = sidesOf(corners, given);
  const arcs = sides.map((s) => s.arc);
  return measuredSides(sides, arcs, 0, stateWith(turnRad)).map((s) => {
    const [from, to] = [pointOnArc(s.arc, s.fromS), pointOnArc(s.arc, s.toS)];
    return { name: s.name, from: whole(from), to: whole(to) };
  });
};

const oblong: Corner[] = [
  [-900, -600],
  [900, -600],
  [900, 600],
  [-900, 600],
];
const angled: Corner[] = [
  [-900, -600],
  [900, -600],
  [900, 0],
  [100, 0],
  [100, 600],
  [-900, 600],
];

describe('the sides of a measured table', () => {
  it('are named from the long side below the first marker, whichever long side is longer by a hair', () => {
    for (const hair of [-0.4, 0.4]) {
      const corners = oblong.map(([x, y], i): Corner => [i === 2 ? x + hair : x, y]);
      expect(measured(corners, false)[0]).toMatchObject({ name: 'A', from: [-900, -600] });
      // The marker lies the other way round: so does the table for who reads it.
      expect(measured(corners, false, 0.2 + Math.PI)[0].from[1]).toBe(600);
    }
  });

  it('of an outline given by hand may turn inwards: every corner is where two sides cross, in order', () => {
    const sides = measured(angled, true);
    expect(sides.map((s) => s.name).join('')).toBe('ABCDEF');
    expect(sides.map((s) => s.from)).toEqual(angled);
    expect(sides.map((s) => s.to)).toEqual([...angled.slice(1), angled[0]]);
  });

  it('of an outline given by hand begin at the same side wherever the person began', () => {
    const turned = [...angled.slice(3), ...angled.slice(0, 3)];
    expect(measured(turned, true)).toEqual(measured(angled, true));
  });
});
