import { describe, expect, it } from 'vitest';
import { tablePoint } from '../../../server/geometry/frames.js';
import type { SideArc } from '../../../server/pipeline/adjust-table.js';
import { sidesAroundTrack } from '../../../server/pipeline/sides-around-track.js';
import type { RailTrace } from '../../../server/scene/rail-trace.js';

/** A side that is seen at so many points, with the table on its left. */
function sideAt(x: number, y: number, headingRad: number, points = 40, place?: number): SideArc {
  const point = { px: 0, py: 0, sigmaPx: 0.1, normal: [1, 0] as const };
  const side = {
    points: Array.from({ length: points }, () => point),
    lineInTable: { through: tablePoint(x, y), direction: [Math.cos(headingRad), Math.sin(headingRad)] as const },
    certainty: 1,
    seenRatio: 1,
  };
  return {
    arc: { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 },
    seen: [{ photo: 0, side }],
    ...(place !== undefined && { place }),
  };
}

/** Track along y = 60 from x to x, of which nothing is seen where it is covered. */
function trackTo(toX: number, covered: (x: number) => boolean = () => false): RailTrace {
  const samples = Array.from({ length: Math.floor(toX / 8) }, (_, i) => {
    const mm = covered(8 * i) ? Number.NaN : 0;
    return { x: 8 * i, y: 60, headingRad: 0, sidewaysMm: [mm, mm, mm] as const };
  });
  return { photo: 1, closed: false, stepMm: 8, light: { x: 0, y: 0, z: 20000 }, samples };
}

const front = sideAt(1200, 0, 0);
const end = sideAt(2400, 600, Math.PI / 2);
/** What a photo of the left half took for the table's end. */
const crack = sideAt(1690, 300, Math.PI / 2);

describe('the sides of the table that all photos show', () => {
  it('have all track on their left', () => {
    expect(sidesAroundTrack([front, crack], [trackTo(2300)])).toEqual([front]);
    expect(sidesAroundTrack([front, crack], [trackTo(1600)])).toEqual([front, crack]);
  });

  it('may have a little of it beyond, as cameras err, or such as is covered', () => {
    expect(sidesAroundTrack([crack], [trackTo(1690 + 20)])).toEqual([crack]);
    expect(sidesAroundTrack([crack], [trackTo(2300, (x) => x > 1690)])).toEqual([crack]);
  });

  it('look different ways: of two that look the same way the surer one is taken', () => {
    const weak = sideAt(1690, 300, Math.PI / 2, 12);
    expect(sidesAroundTrack([front, weak, end], [trackTo(1600)])).toEqual([front, end]);
    expect(sidesAroundTrack([front, crack, sideAt(2400, 600, Math.PI / 2, 12)], [trackTo(1600)])).toEqual([
      front,
      crack,
    ]);
  });

  it('are what a person drew, whatever else is seen', () => {
    const drawn = sideAt(1690, 300, Math.PI / 2, 4, 1);
    expect(sidesAroundTrack([front, drawn, end], [trackTo(2300)])).toEqual([front, drawn]);
  });
});
