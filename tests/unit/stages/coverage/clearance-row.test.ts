import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../../../server/geometry/camera.js';
import { multiply3, rotationFromVector } from '../../../../server/geometry/rotation.js';
import { choleskyInPlace } from '../../../../server/linalg/cholesky.js';
import type { SolvedTable } from '../../../../server/scene/solved-table.js';
import { clearanceRow, footOn, railAxisMm, varianceOf } from '../../../../server/stages/coverage/clearance-row.js';
import { normalFrom, seededRandom } from '../../../support/seeded-random.js';
import { heldAt, solvedScene } from '../../../support/solved-scene.js';

const solved = solvedScene({
  markers: [{ id: 0, x: 500, y: 500 }],
  cameras: [heldAt([700, 100, 1500], [850, 550])],
});
/** A place, and the side that it is read from. */
const places = [
  [300, 110, 0],
  [1500, 90, 0],
  [1690, 600, 1],
  [900, 1110, 2],
  [120, 900, 3],
] as const;

/** The camera with lens, pose and rail height moved by the unknowns p, as the adjustment counts them. */
function moved(p: Float64Array): { camera: Camera; heightMm: number } {
  const { layout, cameras } = solved;
  const { lens: l, cameraFromTable } = cameras[0];
  const [a, o] = [layout.lens[0], layout.pose[0]];
  const f = l.fx + p[a];
  const lens = {
    ...{ fx: f, fy: f, k1: l.k1 + p[a + 1], k2: l.k2 + p[a + 2], cx: l.cx + p[a + 3], cy: l.cy + p[a + 4] },
    ...{ p1: l.p1 + p[a + 5], p2: l.p2 + p[a + 6] },
  };
  const { rotation, translation: t } = cameraFromTable;
  return {
    camera: {
      lens,
      cameraFromTable: {
        rotation: multiply3(rotationFromVector(p[o], p[o + 1], p[o + 2]), rotation),
        translation: [t[0] + p[o + 3], t[1] + p[o + 4], t[2] + p[o + 5]],
      },
    },
    heightMm: railAxisMm(solved) + p[layout.railTop],
  };
}

/** The clearance that a pixel gives when the unknowns are off by p. */
function clearanceWith(p: Float64Array, px: { x: number; y: number }, side: number): number {
  const { camera, heightMm } = moved(p);
  const at = tableFromPhotoAtHeight(camera, px.x, px.y, heightMm);
  const s = solved.sides[side];
  const o = solved.layout.side[side];
  const arc = { ...s.arc, x: s.arc.x + p[o], y: s.arc.y + p[o + 1], headingRad: s.arc.headingRad + p[o + 2] };
  return footOn({ ...s, arc }, at.x, at.y).distanceMm;
}

describe('the derivatives of a clearance read in a photo', () => {
  it.each(places)('agree with central differences at (%i, %i) from side %i', (x, y, side) => {
    const row = clearanceRow(solved, 0, side, x, y);
    const px = photoFromTable(solved.cameras[0], x, y, railAxisMm(solved));
    row.index.forEach((at, k) => {
      const step = 1e-3 * Math.sqrt(solved.covariance[at * solved.layout.count + at]);
      const by = (d: number): number => {
        const p = new Float64Array(solved.layout.count);
        p[at] = d;
        return clearanceWith(p, px, side);
      };
      const difference = (by(step) - by(-step)) / (2 * step);
      expect(row.derivative[k], `unknown ${at}`).toBeCloseTo(difference, 5 - Math.log10(1 + Math.abs(difference)));
    });
  });
});

describe('the uncertainty of a clearance', () => {
  /** 4000 draws know a standard deviation to 1/sqrt(8000) = 1.1 %; 5 % is more than four times that. */
  const draws = 4000;

  it('is the spread of clearances read with cameras drawn from the covariance (Monte Carlo, JCGM 101:2008)', () => {
    const random = drawnFrom(solved, 20261125);
    const all = Array.from({ length: draws }, random);
    for (const [x, y, side] of places) {
      const px = photoFromTable(solved.cameras[0], x, y, railAxisMm(solved));
      const values = all.map((p) => clearanceWith(p, px, side));
      const mean = values.reduce((a, b) => a + b) / draws;
      const spread = Math.sqrt(values.reduce((a, v) => a + (v - mean) ** 2, 0) / (draws - 1));
      const u = Math.sqrt(varianceOf(clearanceRow(solved, 0, side, x, y), solved.covariance, solved.layout.count));
      expect(u / spread, `at ${x}, ${y}`).toBeGreaterThan(0.95);
      expect(u / spread, `at ${x}, ${y}`).toBeLessThan(1.05);
    }
  });

  it('grows with the distance from the edge that it is read to', () => {
    const uAt = (y: number): number =>
      Math.sqrt(varianceOf(clearanceRow(solved, 0, 0, 900, y), solved.covariance, solved.layout.count));
    expect(uAt(600)).toBeGreaterThan(1.5 * uAt(100));
  });

  it('has in it how wide a pixel is there', () => {
    const near = clearanceRow(solved, 0, 0, 700, 100).readingMm2;
    const far = clearanceRow(solved, 0, 2, 1700, 1100).readingMm2;
    expect(far).toBeGreaterThan(1.2 * near);
    expect(Math.sqrt(near)).toBeGreaterThan(0.05);
    expect(Math.sqrt(near)).toBeLessThan(0.15);
  });
});

/** Draws of all unknowns from the covariance of a solved table. */
function drawnFrom({ covariance, layout: { count: n } }: SolvedTable, seed: number): () => Float64Array {
  const factor = Float64Array.from(covariance);
  expect(choleskyInPlace(factor, n)).toBe(true);
  const normal = normalFrom(seededRandom(seed));
  return () => {
    const z = Float64Array.from({ length: n }, normal);
    return Float64Array.from({ length: n }, (_, i) => {
      let sum = 0;
      for (let k = 0; k <= i; k++) sum += factor[i * n + k] * z[k];
      return sum;
    });
  };
}
