import { describe, expect, it } from 'vitest';
import type { DarkShape } from '../../../../server/stages/markers/dark-shapes.js';
import { areaOf, quadFromShape } from '../../../../server/stages/markers/quad-from-shape.js';

/** The pixels for which a test holds, as a shape. */
function shapeOf(size: number, isDark: (x: number, y: number) => boolean): DarkShape {
  const [left, right]: [number[], number[]] = [[], []];
  let [top, areaPx2] = [-1, 0];
  for (let y = 0; y < size; y++) {
    const xs = Array.from({ length: size }, (_, x) => x).filter((x) => isDark(x, y));
    if (xs.length === 0) continue;
    if (top < 0) top = y;
    left.push(xs[0]);
    right.push(xs[xs.length - 1]);
    areaPx2 += xs.length;
  }
  return { top, left: Int32Array.from(left), right: Int32Array.from(right), areaPx2 };
}

const turned = (angle: number, half: number) => (x: number, y: number) => {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const [u, v] = [(x - 40) * c + (y - 40) * s, -(x - 40) * s + (y - 40) * c];
  return Math.max(Math.abs(u), Math.abs(v)) <= half;
};

describe('quadFromShape', () => {
  it('finds the corners of a square in any turn, clockwise', () => {
    for (let i = 0; i < 24; i++) {
      const angle = (i / 24) * Math.PI;
      const quad = quadFromShape(shapeOf(81, turned(angle, 20)));
      expect(quad).not.toBeNull();
      expect(areaOf(quad!)).toBeGreaterThan(0.9 * 41 * 41);
      for (let c = 0; c < 4; c++) {
        const wanted = [45, 135, 225, 315].map((d) => angle + (d * Math.PI) / 180);
        const off = wanted.map((w) =>
          Math.hypot(
            quad![2 * c] - (40 + 20 * Math.SQRT2 * Math.cos(w)),
            quad![2 * c + 1] - (40 + 20 * Math.SQRT2 * Math.sin(w)),
          ),
        );
        expect(Math.min(...off)).toBeLessThan(2);
      }
    }
  });

  it('takes a ring for a quad as well, because a tag is white inside', () => {
    const ring = shapeOf(81, (x, y) => turned(0.4, 20)(x, y) && !turned(0.4, 14)(x, y));
    expect(quadFromShape(ring)).not.toBeNull();
  });

  it('does not take discs, triangles, thin frames or crosses for quads', () => {
    const disc = shapeOf(81, (x, y) => Math.hypot(x - 40, y - 40) < 25);
    const triangle = shapeOf(81, (x, y) => y > 10 && y < 60 && Math.abs(x - 40) < (y - 10) / 2);
    const frame = shapeOf(81, (x, y) => turned(0.4, 30)(x, y) && !turned(0.4, 28)(x, y));
    const cross = shapeOf(81, (x, y) => Math.min(Math.abs(x - 40), Math.abs(y - 40)) < 3 && turned(0, 30)(x, y));
    expect([disc, triangle, frame, cross].map(quadFromShape)).toEqual([null, null, null, null]);
  });
});
