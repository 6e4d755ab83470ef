import { describe, expect, it } from 'vitest';
import { gapOfSlit } from '../../../../server/stages/joints/slit-gap.js';
import type { SlitTrail } from '../../../../server/stages/joints/slit-trail.js';

/** Three heads and three flanges that darken by these shares of root brightness about row 5. */
function trails(head: number, flange: number, scatter = 0.02): SlitTrail[] {
  return (['head', 'flange'] as const).flatMap((part) =>
    [0, 1, 2].map(() => ({
      part,
      darkening: Float32Array.from({ length: 11 }, (_, i) =>
        Math.abs(i - 5) < 2 ? (part === 'head' ? head : flange) : 0,
      ),
      scatter: new Float32Array(11).fill(scatter),
      beside: new Float32Array(11),
      tilt: new Float32Array(11),
    })),
  );
}

describe('the gap of a closed joint', () => {
  it('grows with what it takes from the rails’ light, told by the darker part', () => {
    const narrow = gapOfSlit(trails(0.15, 0.1), 5, 0.3).value;
    const wide = gapOfSlit(trails(0.15, 0.4), 5, 0.3).value;
    expect(wide).toBeGreaterThan(1.5 * narrow);
    expect(gapOfSlit(trails(0.4, 0.15), 5, 0.3).value).toBeCloseTo(wide, 6);
  });

  it('is wider for the same darkening where a bright table fills the slit with light', () => {
    expect(gapOfSlit(trails(0.2, 0.1), 5, 1.2).value).toBeGreaterThan(gapOfSlit(trails(0.2, 0.1), 5, 0.2).value);
    expect(gapOfSlit(trails(0.2, -0.3), 5, 1).value).toBeGreaterThan(gapOfSlit(trails(0.2, 0), 5, 1).value);
  });

  it('is less sure on rails that scatter more, and never surer than the light allows', () => {
    const clean = gapOfSlit(trails(0.2, 0.1, 0.01), 5, 0.5).u;
    expect(clean).toBeGreaterThan(0.3);
    expect(gapOfSlit(trails(0.2, 0.1, 0.2), 5, 0.5).u).toBeGreaterThan(1.2 * clean);
  });

  it('stays that of a closed joint', () => {
    expect(gapOfSlit(trails(0, -0.01), 5, 0.5).value).toBeGreaterThan(0);
    expect(gapOfSlit(trails(0.99, 0.99), 5, 5).value).toBeLessThanOrEqual(3);
  });
});
