import { describe, expect, it } from 'vitest';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { isWithin, joinEnds, splitAt, withoutSamples } from '../../../../server/stages/rails/cut-traces.js';
import { curveThrough, distanceTo } from '../../../../server/stages/rails/drawn-track.js';

const stepMm = 8;
const light = { x: 0, y: 0, z: 2000 };

function straight(fromX: number, toX: number, photo = 0): RailTrace {
  const count = Math.round((toX - fromX) / stepMm) + 1;
  const samples = Array.from({ length: count }, (_, i) => ({
    x: fromX + i * stepMm,
    y: 0,
    headingRad: 0,
    sidewaysMm: [0, 0, 0] as const,
  }));
  return { photo, closed: false, stepMm, light, samples };
}

function loop(radiusMm: number): RailTrace {
  const count = Math.round((2 * Math.PI * radiusMm) / stepMm);
  const samples = Array.from({ length: count }, (_, i) => {
    const angle = (2 * Math.PI * i) / count;
    return {
      x: radiusMm * Math.cos(angle),
      y: radiusMm * Math.sin(angle),
      headingRad: angle + Math.PI / 2,
      sidewaysMm: [0, 0, 0] as const,
    };
  });
  return { photo: 0, closed: true, stepMm, light, samples };
}

describe('taking track out of what was found', () => {
  it('leaves two runs where the middle of one is taken out, and drops what is too short', () => {
    const left = withoutSamples([straight(0, 800)], (s) => s.x > 300 && s.x < 400);
    expect(left.map((t) => [t.samples[0].x, t.samples.at(-1)?.x])).toEqual([
      [0, 296],
      [400, 800],
    ]);
    expect(withoutSamples([straight(0, 800)], (s) => s.x > 40)).toEqual([]);
  });

  it('opens a loop into one run, whatever sample the loop begins with', () => {
    const left = withoutSamples([loop(400)], (s) => s.x > 380);
    expect(left).toHaveLength(1);
    expect(left[0].closed).toBe(false);
    for (const s of left[0].samples) expect(s.x).toBeLessThanOrEqual(380);
    const gaps = left[0].samples
      .slice(1)
      .map((s, i) => Math.hypot(s.x - left[0].samples[i].x, s.y - left[0].samples[i].y));
    expect(Math.max(...gaps)).toBeLessThan(1.01 * stepMm);
  });

  it('leaves a trace as it is, the very object, when nothing of it is false', () => {
    const trace = straight(0, 400);
    expect(withoutSamples([trace], () => false)[0]).toBe(trace);
  });
});

describe('splitting and joining', () => {
  it('cuts a run in two near the place, and opens a loop there without losing a sample', () => {
    const cut = splitAt([straight(0, 800)], { x: 401, y: 6 }, 40);
    expect(cut?.map((t) => t.samples.length)).toEqual([50, 51]);
    const ring = loop(400);
    const opened = splitAt([ring], { x: 0, y: 402 }, 40);
    expect(opened).toHaveLength(1);
    expect(opened?.[0].closed).toBe(false);
    expect(opened?.[0].samples).toHaveLength(ring.samples.length);
    expect(opened?.[0].samples[0].y).toBeCloseTo(400, 0);
  });

  it('joins no ends that different photos show', () => {
    const places = [
      { x: 400, y: 0 },
      { x: 600, y: 0 },
    ] as const;
    expect(joinEnds([straight(0, 400, 0), straight(600, 1000, 1)], places, 80)).toBeNull();
  });

  it('says null where no run passes', () => {
    expect(splitAt([straight(0, 800)], { x: 400, y: 90 }, 40)).toBeNull();
    expect(
      joinEnds(
        [straight(0, 400)],
        [
          { x: 900, y: 0 },
          { x: 0, y: 0 },
        ],
        80,
      ),
    ).toBeNull();
  });

  it('makes one run of two that point at each other, whichever way each was followed', () => {
    const second = straight(600, 1000);
    const backwards = { ...second, samples: [...second.samples].reverse().map((s) => ({ ...s, headingRad: Math.PI })) };
    for (const other of [second, backwards]) {
      const joined = joinEnds(
        [straight(0, 400), other],
        [
          { x: 405, y: 5 },
          { x: 590, y: -5 },
        ],
        80,
      );
      expect(joined).toHaveLength(1);
      const xs = joined?.[0].samples.map((s) => s.x) ?? [];
      expect([xs[0], xs.at(-1)]).toEqual([0, 1000]);
      expect([...xs].sort((p, q) => p - q)).toEqual(xs);
      expect(joined?.[0].samples.filter((s) => Number.isNaN(s.sidewaysMm[0])).length).toBeGreaterThan(20);
    }
  });

  it('closes a run whose two ends are named', () => {
    const ring = loop(400);
    const [opened] = withoutSamples([ring], (s) => s.x > 380);
    const ends = [opened.samples[0], opened.samples[opened.samples.length - 1]] as const;
    const closed = joinEnds([opened], ends, 40)?.[0];
    expect(closed?.closed).toBe(true);
    expect(Math.abs((closed?.samples.length ?? 0) - ring.samples.length)).toBeLessThanOrEqual(1);
  });
});

describe('what a finger draws', () => {
  it('becomes a curve that passes its points and bows as a circle does between them', () => {
    const points = Array.from({ length: 9 }, (_, i) => ({
      x: 400 * Math.cos((i * Math.PI) / 8),
      y: 400 * Math.sin((i * Math.PI) / 8),
    }));
    const curve = curveThrough(points);
    for (const p of points) expect(distanceTo(curve, p.x, p.y)).toBeLessThan(0.01);
    // Between points 157 mm apart a chord would be 7.7 mm off.
    for (const p of curve.slice(20, -20)) expect(Math.abs(Math.hypot(p.x, p.y) - 400)).toBeLessThan(1);
  });

  it('an area holds what lies inside it, also where it bends inwards', () => {
    const area = [
      { x: 0, y: 0 },
      { x: 10, y: 0 },
      { x: 10, y: 10 },
      { x: 5, y: 2 },
      { x: 0, y: 10 },
    ];
    expect(isWithin(area, 1, 1)).toBe(true);
    expect(isWithin(area, 5, 5)).toBe(false);
    expect(isWithin(area, 12, 5)).toBe(false);
  });
});
