import { describe, expect, it } from 'vitest';
import type { Arc, LineObservation } from '../../../../server/scene/track-observation.js';
import { curveFamilies, sameRadiusResiduals } from '../../../../server/stages/camera/same-radius.js';

const curve = (radiusMm: number): Arc => ({
  x: 0,
  y: 0,
  headingRad: 0,
  curvaturePerMm: radiusMm === 0 ? 0 : 1 / radiusMm,
  halfLengthMm: 0,
});

/** Rails seen every 8 mm along an arc of a length. */
function seenAlong(arc: number, lengthMm: number): LineObservation[] {
  return Array.from({ length: Math.round(lengthMm / 8) + 1 }, (_, i) => ({
    photo: 0,
    arc,
    s: i * 8 - lengthMm / 2,
    rail: 0 as const,
    kind: 'rail' as const,
    px: 0,
    py: 0,
    normalX: 0,
    normalY: 1,
    sigmaPx: 1,
  }));
}

const familiesOf = (radii: readonly number[], lengthsMm: readonly number[]) =>
  curveFamilies(
    radii.map(curve),
    radii.map((r) => r === 0),
    lengthsMm.flatMap((length, i) => seenAlong(i, length)),
  );

describe('curves of one radius', () => {
  it('are told apart from those of another, left and right turns alike, and straights are none', () => {
    const families = familiesOf([381, -380, 520, 0, 523, -382, -519], [296, 296, 272, 254, 272, 296, 272]);
    expect(families.map((f) => f.arcs)).toEqual([
      [0, 1, 5],
      [2, 4, 6],
    ]);
  });

  it('leave a short curve free that agrees with two radii', () => {
    const families = familiesOf([381, 380, 382, 520, 521, 519, 440], [296, 296, 296, 272, 272, 272, 56]);
    expect(families.flatMap((f) => f.arcs)).not.toContain(6);
    expect(families.flatMap((f) => f.arcs)).toHaveLength(6);
  });

  it('are no family when they are two, or short together', () => {
    expect(familiesOf([381, 380], [296, 296])).toEqual([]);
    expect(familiesOf([381, 380, 382], [64, 64, 64])).toEqual([]);
  });

  it('pull each other with derivatives that agree with central differences', () => {
    const arcs = [381, -395, 0, 372].map(curve);
    const places = [0, 10, 20, 30];
    const family = { arcs: [0, 1, 3], uShare: 0.004 };
    const residuals = (list: readonly Arc[]): number[] => {
      const out: number[] = [];
      sameRadiusResiduals(family, list, places, (r) => out.push(r));
      return out;
    };
    const at = residuals(arcs);
    expect(Math.max(...at.map(Math.abs))).toBeGreaterThan(5);
    let row = 0;
    sameRadiusResiduals(family, arcs, places, (_, index, derivative, count) => {
      expect(count).toBe(3);
      for (let n = 0; n < count; n++) {
        const which = places.indexOf(index[n] - 3);
        const h = 1e-9;
        const moved = (d: number) =>
          residuals(arcs.map((a, i) => (i === which ? { ...a, curvaturePerMm: a.curvaturePerMm + d } : a)))[row];
        const central = (moved(h) - moved(-h)) / (2 * h);
        expect(derivative[n] / central).toBeCloseTo(1, 4);
      }
      row++;
    });
  });
});
