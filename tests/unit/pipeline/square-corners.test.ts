import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../server/geometry/camera.js';
import { tablePoint } from '../../../server/geometry/frames.js';
import { multiply3, rotationFromVector } from '../../../server/geometry/rotation.js';
import { adjustTable, type SideArc } from '../../../server/pipeline/adjust-table.js';
import { arcCovarianceOf } from '../../../server/pipeline/covariances.js';
import { measuredSides } from '../../../server/pipeline/layout-parts.js';
import { sideLengthU } from '../../../server/pipeline/side-lengths.js';
import { adjustWithCorners, judgeCorners } from '../../../server/pipeline/square-corners.js';
import { cornerWarnings } from '../../../server/pipeline/warnings.js';
import type { MeasuredSide } from '../../../server/scene/measured-layout.js';
import { markerCornerInTable } from '../../../server/scene/placed-marker.js';
import { tallTrack } from '../../../server/scene/track-profile.js';
import type { AdjustmentState } from '../../../server/stages/camera/adjustment-state.js';
import { normalFrom, seededRandom } from '../../support/seeded-random.js';

type Corner = readonly [number, number];

const markerSideMm = 150;
const marker = { id: 3, x: 0, y: 0, turnRad: 0.1 };
/** One marker near the left end of the table, a phone held over the front: what leaves a table's angles least sure. */
const camera: Camera = {
  lens: { fx: 2900, fy: 2900, cx: 2015.5, cy: 1511.5, k1: -0.03, k2: 0.01, p1: 0, p2: 0 },
  cameraFromTable: {
    rotation: multiply3(rotationFromVector(0.3, 0.05, 0), [1, 0, 0, 0, -1, 0, 0, 0, -1]),
    translation: [-500, 60, 1900],
  },
};
const startState: AdjustmentState = {
  lenses: [camera.lens],
  lensOfPhoto: [0],
  cameras: [camera],
  markers: [marker],
  arcs: [],
  straight: [],
  printScale: 1,
  gaugeScale: 1,
  railTopOffMm: 0,
};

/** A table of 1800 × 900 mm about the marker. @param skewRad how far its left and right sides lean over */
const tableOf = (skewRad: number): Corner[] => {
  const lean = 900 * Math.tan(skewRad);
  return [
    [-300, -450],
    [1500, -450],
    [1500 + lean, 450],
    [-300 + lean, 450],
  ];
};

/** What a photo shows of it, with noise: marker corners 0.04 px, edge points 0.2 px, focal length 1 %. */
function seen(corners: readonly Corner[], seed: number) {
  const noise = normalFrom(seededRandom(seed));
  const cornersPx = [0, 1, 2, 3].map((k) => {
    const [x, y] = markerCornerInTable(marker, markerSideMm, k);
    const p = photoFromTable(camera, x, y, 0);
    return [p.x + 0.04 * noise(), p.y + 0.04 * noise()] as const;
  });
  const start = {
    state: startState,
    markerObservations: [{ photo: 0, marker: 0, cornersPx, sigmaPx: 0.05 }],
    focalPrior: [{ valuePx: 2900 * (1 + 0.01 * noise()), uPx: 0.015 * 2900 }],
    principalPoints: [{ xPx: 2015.5, yPx: 1511.5, uPx: [12, 12] }] as const,
    cropped: [],
  };
  const sides = corners.map((a, i): SideArc => {
    const b = corners[(i + 1) % corners.length];
    const at = (t: number) => photoFromTable(camera, a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), 0);
    const [p, q] = [at(0), at(1)];
    const along = Math.hypot(q.x - p.x, q.y - p.y);
    // Photo rows run down: the side away from the table is to the left of the way along it as the photo shows it.
    const normal = [-(q.y - p.y) / along, (q.x - p.x) / along] as const;
    const points = Array.from({ length: 40 }, (_, k) => {
      const { x, y } = at(0.02 + (0.96 * k) / 39);
      const off = 0.2 * noise();
      return { px: x + off * normal[0], py: y + off * normal[1], sigmaPx: 0.2, normal };
    });
    const headingRad = Math.atan2(b[1] - a[1], b[0] - a[0]);
    const [x, y] = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const direction = [Math.cos(headingRad), Math.sin(headingRad)] as const;
    const side = { points, lineInTable: { through: tablePoint(x, y), direction }, certainty: 1, seenRatio: 1 };
    return { arc: { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 }, seen: [{ photo: 0, side }] };
  });
  return { start, sides };
}

function measure(corners: readonly Corner[], areSquare: boolean, seed: number) {
  const { start, sides } = seen(corners, seed);
  const adjusted = adjustWithCorners(areSquare, startState, sides, (from, held) =>
    adjustTable(start, from, [], [], sides, [], markerSideMm, tallTrack, [], held),
  );
  const { output, firstSide } = adjusted;
  const measured = measuredSides(sides, output.state.arcs, firstSide, output.state);
  const covarianceOf = arcCovarianceOf(output);
  const lengths = measured.map((s, i) => ({ value: s.toS - s.fromS, u: sideLengthU(measured, i, covarianceOf) }));
  return { lengths, judged: adjusted.corners, angles: judgeCorners(measured, covarianceOf) };
}

const rms = (list: readonly number[]): number => Math.sqrt(list.reduce((sum, v) => sum + v * v, 0) / list.length);
const seeds = Array.from({ length: 24 }, (_, i) => 20261125 + i);

describe('the corners of a table that are said to be square', () => {
  it('make the lengths of its sides better, and what is said of them', () => {
    const truth = [1800, 900, 1800, 900];
    const [free, held] = [false, true].map((areSquare) => {
      const all = seeds.map((seed) => measure(tableOf(0), areSquare, seed).lengths);
      return {
        error: rms(all.flatMap((lengths) => lengths.map((l, i) => l.value - truth[i]))),
        u: rms(all.flatMap((lengths) => lengths.map((l) => l.u))),
        within: all.flatMap((lengths) => lengths.map((l, i) => Math.abs(l.value - truth[i]) < 1.96 * l.u)),
      };
    });
    expect(held.error).toBeLessThan(0.8 * free.error);
    expect(held.u).toBeLessThan(0.8 * free.u);
    expect(held.within.filter(Boolean).length / held.within.length).toBeGreaterThan(0.9);
  });

  it('are held at every corner, and nowhere else', () => {
    const { judged } = measure(tableOf(0), true, seeds[0]);
    expect(judged.map((c) => [...c.sides, c.square])).toEqual([
      ['A', 'B', true],
      ['B', 'C', true],
      ['C', 'D', true],
      ['D', 'A', true],
    ]);
    expect(measure(tableOf(0), false, seeds[0]).judged).toEqual([]);
  });

  it('are not forced where the table is 4° askew: measured as without, and said with both sides and what to do', () => {
    const skew = (4 * Math.PI) / 180;
    const [asked, plain] = [true, false].map((areSquare) => measure(tableOf(skew), areSquare, seeds[1]));
    expect(asked.lengths).toEqual(plain.lengths);
    for (const { offRad } of asked.angles) expect(Math.abs(Math.abs(offRad) - skew)).toBeLessThan(0.005);
    const [warning, ...others] = cornerWarnings(asked.judged);
    expect([warning.code, others]).toEqual(['corner-not-square', []]);
    for (const sides of ['A and B', 'B and C', 'C and D', 'D and A'])
      expect(warning.message).toMatch(new RegExp(`Between sides ${sides} it is [34]\\.\\d° off \\(± 0\\.\\d°\\)\\.`));
    expect(warning.message).toMatch(/left as it measures\. Lay a carpenter’s square there\./);
  });

  it('are held one by one: one side that leans is left, the two corners beside it are told', () => {
    const [a, b, c, d] = tableOf(0);
    const { judged, angles } = measure([a, b, [c[0] + 60, c[1]], d], true, seeds[2]);
    expect(judged.map((k) => k.square)).toEqual([false, false, true, true]);
    expect(Math.abs(angles[0].offRad)).toBeGreaterThan(0.06);
    for (const k of angles.slice(2)) expect(Math.abs(k.offRad)).toBeLessThan(0.002);
    expect(cornerWarnings(judged)[0].message.match(/sides . and ./g)).toEqual(['sides A and B', 'sides B and C']);
  });
});

describe('which sides have a corner between them', () => {
  const side = (name: string, headingRad: number, fromCorner = true, toCorner = true): MeasuredSide => ({
    name,
    arc: { x: 0, y: 0, headingRad, curvaturePerMm: 0, halfLengthMm: 0 },
    arcIndex: name.charCodeAt(0) - 65,
    fromS: -500,
    toS: 500,
    fromCorner,
    toCorner,
  });
  const known = () => [0, 0, 0, 0, 0, 0, 0, 0, 1e-6];
  const right = Math.PI / 2;

  it('are neighbours whose corner was seen; an end that runs out of the picture is none', () => {
    const three = [side('A', 0, false), side('B', right), side('C', 2 * right, true, false)];
    expect(judgeCorners(three, known).map((c) => c.sides.join(''))).toEqual(['AB', 'BC']);
  });

  it('may turn inwards, and headings may have gone round: the nearest right angle counts', () => {
    const angled = [side('A', 0), side('B', right + 0.001), side('C', 0.001), side('D', -3 * right)];
    const judged = judgeCorners(angled, known);
    expect(judged.map((c) => c.turnRad / right)).toEqual([1, -1, -3, 3]);
    expect(judged[0].offRad).toBeCloseTo(0.001, 9);
  });

  it('a corner cut off is not square at either end', () => {
    const cut = [side('A', 0, false), side('B', right / 2), side('C', right, true, false)];
    expect(judgeCorners(cut, known).map((c) => c.square)).toEqual([false, false]);
  });
});
