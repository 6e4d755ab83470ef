import { describe, expect, it } from 'vitest';
import { chainsOf } from '../../server/planner/chain.js';
import { headingMisclosure, misclosure } from '../../server/planner/misclosure.js';
import { makeReport, oval, rectangle } from '../support/make-report.js';

/** A leg from its azimuth (clockwise from north, degrees); x east (departure), y north (latitude). */
function leg(azimuthDeg: number, lengthMm: number) {
  const angle = (azimuthDeg * Math.PI) / 180;
  return { along: [Math.sin(angle), Math.cos(angle)] as const, lengthMm };
}

const dms = (d: number, m: number, s = 0) => d + m / 60 + s / 3600;

describe('published closed traverses', () => {
  it('misses by −0.115 and +0.107 ft (Open Access Surveying Library, traverse adjustment, problem 2)', () => {
    const legs = [
      leg(dms(226, 54, 23), 639.15),
      leg(0, 523.69),
      leg(dms(235, 2, 29), 409.54),
      leg(dms(79, 35, 2), 815.93),
    ];
    const [departure, latitude] = misclosure(legs);
    // The publication adds legs rounded to 0.001 ft: four of them may hide 4 · 0.0005.
    expect(Math.abs(latitude - -0.115)).toBeLessThan(0.002);
    expect(Math.abs(departure - 0.107)).toBeLessThan(0.002);
    expect(Math.abs(Math.hypot(latitude, departure) - 0.157)).toBeLessThan(0.002);
    expect(legs.map((l) => Number(misclosure([l])[1].toFixed(3)))).toEqual([-436.662, 523.69, -234.66, 147.517]);
  });

  it('misses by −0.71 and +0.53, 0.89 in 2466.05 ft (Purdue University, ASM 215, traverse example)', () => {
    const legs = [
      leg(dms(26, 10), 285.1),
      leg(dms(104, 35), 610.45),
      leg(dms(195, 30), 720.48),
      leg(dms(358, 18), 203),
      leg(dms(306, 54), 647.02),
    ];
    const [departure, latitude] = misclosure(legs);
    // Five legs rounded to 0.01 ft may hide 5 · 0.005.
    expect(Math.abs(latitude - -0.71)).toBeLessThan(0.025);
    expect(Math.abs(departure - 0.53)).toBeLessThan(0.025);
    expect(Math.abs(Math.hypot(latitude, departure) - 0.89)).toBeLessThan(0.025);
    expect(legs.reduce((sum, l) => sum + l.lengthMm, 0)).toBeCloseTo(2466.05, 6);
  });
});

describe('geometry of regular loops', () => {
  it('closes eight curves of 45° with equal opposite straights, of any length and heading', () => {
    for (const [length, headingDeg] of [
      [254, 0],
      [613.7, 31],
      [88.9, 247],
    ]) {
      const run = oval(
        'R1',
        { start: [3000, 3000], headingDeg, radius: 381 },
        [{ straight: length }],
        [{ straight: length }],
      );
      const [chain] = chainsOf(makeReport({ runs: [run], outline: rectangle(6000, 6000) }));
      const legs = chain.elements.map((e) => {
        const [from, to] = e.kind === 'curve' ? [e.from, e.to] : [e.stretch.start, e.stretch.end];
        const lengthMm = Math.hypot(to[0] - from[0], to[1] - from[1]);
        return { along: [(to[0] - from[0]) / lengthMm, (to[1] - from[1]) / lengthMm] as const, lengthMm };
      });
      expect(Math.hypot(...misclosure(legs))).toBeLessThan(1e-9);
      expect(headingMisclosure(chain.sweepRad)).toBeCloseTo(0, 9);
    }
  });

  it('counts turns the other way round, and none for a figure of eight', () => {
    expect(headingMisclosure(-2 * Math.PI + 0.01)).toBeCloseTo(-0.01, 9);
    expect(headingMisclosure(0.02)).toBeCloseTo(-0.02, 9);
  });
});
