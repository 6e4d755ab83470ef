import { describe, expect, it } from 'vitest';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { joinTraces } from '../../../../server/stages/rails/join-traces.js';

const stepMm = 8;

/** A loop of track of which `missing` samples are covered, taken up from any place of it. */
function loopWithCover(radiusMm: number, missing: number, backwards: boolean): RailTrace {
  const count = Math.round((2 * Math.PI * radiusMm) / stepMm);
  const samples = Array.from({ length: count - missing }, (_, i) => {
    const angle = ((backwards ? -1 : 1) * 2 * Math.PI * i) / count;
    return {
      x: radiusMm * Math.cos(angle),
      y: radiusMm * Math.sin(angle),
      headingRad: angle + (backwards ? -1 : 1) * (Math.PI / 2),
      sidewaysMm: [0, 0, 0] as const,
    };
  });
  return { photo: 0, closed: false, stepMm, light: { x: 0, y: 0, z: 2000 }, samples };
}

describe('joining traces across covered track', () => {
  it('closes a loop with a bridge that goes on from its last sample to its first, never back over itself', () => {
    for (const backwards of [false, true]) {
      const [loop] = joinTraces([loopWithCover(420, 18, backwards)]);
      expect(loop.closed).toBe(true);
      const { samples } = loop;
      samples.forEach((s, i) => {
        const next = samples[(i + 1) % samples.length];
        const chord = Math.atan2(next.y - s.y, next.x - s.x);
        expect(Math.cos(chord - s.headingRad)).toBeGreaterThan(0.99);
        expect(Math.hypot(next.x - s.x, next.y - s.y)).toBeLessThan(1.3 * stepMm);
        expect(Math.abs(Math.hypot(s.x, s.y) - 420)).toBeLessThan(3);
      });
    }
  });
});
