import { describe, expect, it } from 'vitest';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { joinTraces, plausibleTraces, reversed } from '../../../../server/stages/rails/join-traces.js';

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

describe('a trace gone along the other way', () => {
  it('has its rails and the crests seen on them on the other side', () => {
    const sample = { x: 0, y: 0, headingRad: 0, sidewaysMm: [0.1, 0.2, 0.3] as const, crestAsideMm: 0.4 };
    const { crestAsideMm: _, ...untold } = sample;
    const trace: RailTrace = {
      photo: 0,
      closed: false,
      stepMm,
      light: { x: 0, y: 0, z: 2000 },
      samples: [sample, untold],
    };
    const { samples } = reversed(trace);
    expect(samples[1]).toMatchObject({ sidewaysMm: [-0.3, -0.2, -0.1], crestAsideMm: -0.4 });
    expect(samples[0].crestAsideMm).toBeUndefined();
  });
});

describe('what is taken for track', () => {
  /** A straight trace whose outer rails lie farther apart than they should by what is told for each sample. */
  function wider(byMm: (i: number) => number, count = 40): RailTrace {
    const samples = Array.from({ length: count }, (_, i) => ({
      x: i * stepMm,
      y: 0,
      headingRad: 0,
      sidewaysMm: [-byMm(i) / 2, 0, byMm(i) / 2] as const,
    }));
    return { photo: 0, closed: false, stepMm, light: { x: 0, y: 0, z: 2000 }, samples };
  }

  it('has the gauge, or one that differs alike all along: the lens is not yet known', () => {
    for (const track of [wider(() => 0.4), wider((i) => 1 + 0.05 * i)])
      expect(plausibleTraces([track], 3, 150)).toEqual([track]);
  });

  it('is not what differs now this much and now that, nor by more than any lens makes of it', () => {
    for (const other of [wider((i) => 1.6 + 1.5 * (i % 2)), wider(() => 5)])
      expect(plausibleTraces([other], 3, 150)).toEqual([]);
  });

  it('is not what is too short, or not seen over half its length', () => {
    expect(plausibleTraces([wider(() => 0.4, 15)], 3, 150)).toEqual([]);
    expect(plausibleTraces([wider((i) => (i % 5 < 2 ? 0.4 : Number.NaN))], 3, 50)).toEqual([]);
  });
});
