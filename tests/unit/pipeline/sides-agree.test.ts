import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../server/geometry/camera.js';
import { tablePoint } from '../../../server/geometry/frames.js';
import type { SideArc, TableAdjustment } from '../../../server/pipeline/adjust-table.js';
import { doubtsOf, sidesThatAgree } from '../../../server/pipeline/sides-agree.js';
import { differingSides } from '../../../server/pipeline/warnings.js';
import type { TableSide } from '../../../server/scene/table-edge.js';

const camera: Camera = {
  lens: { fx: 2900, fy: 2900, cx: 2015.5, cy: 1511.5, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-900, 450, 1900] },
};

/** The front side of a table, along y = 0, as a photo sees it: outMm in front of it, from x to x. */
function seenAt(outMm: number, from = 0, to = 1800, more: Partial<TableSide> = {}): TableSide {
  const points = Array.from({ length: 30 }, (_, k) => {
    const p = photoFromTable(camera, from + ((to - from) * k) / 29, -outMm, 0);
    return { px: p.x, py: p.y, sigmaPx: 0.05, normal: [0, 1] as const };
  });
  const lineInTable = { through: tablePoint((from + to) / 2, -outMm), direction: [1, 0] as const };
  return { points, lineInTable, certainty: 0.9, seenRatio: 1, ...more };
}

const sideOf = (seen: readonly TableSide[], place?: number): SideArc => ({
  arc: { x: 900, y: 0, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 0 },
  seen: seen.map((side, photo) => ({ photo, side })),
  ...(place !== undefined && { place }),
});

/** Leaves every arc where it is, known to uMm across it. */
const asTheyAre =
  (uMm: number) =>
  (apart: SideArc[]): TableAdjustment => {
    const count = 3 * apart.length;
    const covariance = new Float64Array(count * count);
    for (let i = 0; i < count; i++) covariance[i * count + i] = i % 3 === 2 ? 1e-12 : uMm * uMm;
    const output = {
      state: { cameras: Array.from({ length: 4 }, () => camera), arcs: apart.map((side) => side.arc) },
      covariance,
      layout: { count, arc: apart.map((_, i) => 3 * i) },
    };
    return { output, firstSide: 0, lineObservations: [] } as unknown as TableAdjustment;
  };

const photosOf = (side: SideArc): number[] => side.seen.map(({ photo }) => photo);

describe('a side that several photos show', () => {
  it('is one where they put it in the same place, and where it is not known better than they differ', () => {
    const near = sideOf([seenAt(0), seenAt(0.7)]);
    expect(sidesThatAgree([near], asTheyAre(0.1))).toEqual({ sides: [near], differing: [] });
    const unsure = sideOf([seenAt(0), seenAt(4)]);
    expect(sidesThatAgree([unsure], asTheyAre(1)).differing).toEqual([]);
  });

  it('is where two of three photos put it, whatever the third took for it', () => {
    const { sides, differing } = sidesThatAgree([sideOf([seenAt(18), seenAt(0), seenAt(0.2)])], asTheyAre(0.1));
    expect(photosOf(sides[0])).toEqual([1, 2]);
    expect(differing).toMatchObject([{ side: 0, kept: [1, 2], leftOut: [0], keptFor: 'most' }]);
    expect(differing[0].apartMm).toBeCloseTo(18, 0);
  });

  it('is of two the one found more surely, and is then as unsure as they differ', () => {
    const { sides, differing } = sidesThatAgree(
      [sideOf([seenAt(2, 0, 1800, { certainty: 0.4 }), seenAt(0)])],
      asTheyAre(0.1),
    );
    expect(photosOf(sides[0])).toEqual([1]);
    expect(sides[0].arc.y).toBeCloseTo(0, 9);
    expect(differing[0].keptFor).toBe('surer');
    expect(doubtsOf(sides, differing)[0]).toBeCloseTo(1, 6);
  });

  it('is where a person drew it, whatever the photos say', () => {
    const drawn = sideOf([seenAt(3, 0, 1800, { certainty: 0.1 }), seenAt(0), seenAt(0)], 0);
    const { sides, differing } = sidesThatAgree([drawn], asTheyAre(0.1));
    expect(photosOf(sides[0])).toEqual([0]);
    expect(differing[0].keptFor).toBe('drawn');
    expect(doubtsOf(sides, differing)).toEqual([0]);
    expect(differingSides({ photoNames: ['a', 'b', 'c'], sides: [{ arcIndex: 0 }] } as never, differing, 0)).toEqual(
      [],
    );
  });

  it('is compared where both show it, or where they come nearest', () => {
    const ends = sideOf([seenAt(0, 0, 700), seenAt(5, 1100, 1800)]);
    expect(sidesThatAgree([ends], asTheyAre(0.1)).differing).toHaveLength(1);
  });

  it('is left as it is where one photo alone shows it', () => {
    const alone = sideOf([seenAt(0)]);
    const solve = (): TableAdjustment => {
      throw new Error('nothing to solve for');
    };
    expect(sidesThatAgree([alone], solve)).toEqual({ sides: [alone], differing: [] });
  });
});

describe('a warning about photos that show a side in different places', () => {
  const layout = {
    photoNames: ['left.jpg', 'right.jpg', 'above.jpg'],
    sides: [{ name: 'C', arcIndex: 12 }],
  } as unknown as Parameters<typeof differingSides>[0];

  it('names the side and the photos, and says what to do', () => {
    const one = { side: 2, kept: [1], leftOut: [0], apartMm: 1.94, keptFor: 'surer' } as const;
    const [warning] = differingSides(layout, [one], 10);
    expect(warning.code).toBe('sides-differ');
    expect(warning.message).toMatch(
      /^Side C lies 1.9 mm \(0.08 in\) elsewhere in left.jpg than in right.jpg, which was taken. Look/,
    );
    const most = { side: 2, kept: [1, 2], leftOut: [0], apartMm: 18, keptFor: 'most' } as const;
    expect(differingSides(layout, [most], 10)[0].message).toContain(
      'right.jpg and above.jpg, on which most photos agree.',
    );
  });

  it('is silent about a side that was not measured in the end', () => {
    expect(differingSides(layout, [{ side: 0, kept: [1], leftOut: [0], apartMm: 2, keptFor: 'surer' }], 10)).toEqual(
      [],
    );
  });
});
