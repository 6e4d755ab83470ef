import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { calibratePlane, type SeenPoint } from '../support/calibrate-plane.js';

/** Five views of 256 points on a plane: Zhang, MSR-TR-98-71 (1998); IEEE TPAMI 22(11) (2000) 1330–1334. */
const folder = resolve(import.meta.dirname, '../../../shared/data/zhang1998');

function numbersOf(name: string): number[] {
  return readFileSync(resolve(folder, name), 'utf8').trim().split(/\s+/).map(Number);
}

function viewsOf(): SeenPoint[][] {
  const model = numbersOf('Model.txt');
  return [1, 2, 3, 4, 5].map((view) => {
    const seen = numbersOf(`data${view}.txt`);
    return Array.from({ length: seen.length / 2 }, (_, i) => ({
      x: model[2 * i],
      y: model[2 * i + 1],
      px: seen[2 * i],
      py: seen[2 * i + 1],
    }));
  });
}

/** The points farthest out towards the four corners of the target. */
function cornersOf(points: readonly SeenPoint[]): [number, number, number, number] {
  const farthest = (sx: number, sy: number): number =>
    points.reduce((best, p, i) => (sx * p.x + sy * p.y > sx * points[best].x + sy * points[best].y ? i : best), 0);
  return [farthest(-1, 1), farthest(1, 1), farthest(1, -1), farthest(-1, -1)];
}

describe('the lens model and the solver on published calibration points', () => {
  it.skipIf(!existsSync(folder))('finds the camera of Zhang (2000) from f = 800, c = (320, 240), no distortion', () => {
    const views = viewsOf();
    expect(views.map((v) => v.length)).toEqual([256, 256, 256, 256, 256]);
    const start = { fx: 800, fy: 800, cx: 320, cy: 240, k1: 0, k2: 0, p1: 0, p2: 0 };
    const { lens, rmsPx, u } = calibratePlane(views, cornersOf(views[0]), start);
    // Recomputed without skew, which this lens model does not have.
    expect(lens.fx).toBeCloseTo(832.207, 3);
    expect(lens.fy).toBeCloseTo(832.2426, 3);
    expect(lens.cx).toBeCloseTo(304.0684, 3);
    expect(lens.cy).toBeCloseTo(206.3724, 3);
    expect(lens.k1).toBeCloseTo(-0.228531, 5);
    expect(lens.k2).toBeCloseTo(0.191008, 5);
    expect(rmsPx).toBeCloseTo(0.336889, 5);
    // Published with skew: 832.5, 832.53, (303.959, 206.585), −0.228601, 0.190353; and what they are uncertain by.
    const published = [832.5, 832.53, 303.959, 206.585, -0.228601, 0.190353];
    const publishedU = [1.407, 1.386, 0.712, 0.659, 0.0041, 0.0249];
    [lens.fx, lens.fy, lens.cx, lens.cy, lens.k1, lens.k2].forEach((value, i) => {
      expect(Math.abs(value - published[i])).toBeLessThan(0.5 * publishedU[i]);
      expect(u[i] / publishedU[i]).toBeGreaterThan(0.9);
      expect(u[i] / publishedU[i]).toBeLessThan(1.1);
    });
  });
});
