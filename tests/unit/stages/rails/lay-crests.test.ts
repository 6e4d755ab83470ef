import { describe, expect, it } from 'vitest';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { followLines } from '../../../../server/stages/rails/find-rails.js';
import { layCrests } from '../../../../server/stages/rails/lay-crests.js';
import type { CrestChoice, SeenCrest } from '../../../../server/stages/rails/seen-crests.js';
import { camera, pictureOfCircle, radiusMm, samples } from '../../../support/rails/circle-of-track.js';

const stepMm = 8;
const count = 240;
const line = {
  samples: Array.from({ length: count }, (_, i) => ({ x: i * stepMm, y: 0, headingRad: 0 })),
  closed: false,
};

/** Crests at every sixth place of the line; a lamp above puts them all on the middle of the heads. */
function crestsAlong(choicesAt: (sample: number) => readonly CrestChoice[], showsBothFlanges = true): SeenCrest[] {
  return line.samples.flatMap((place, sample) =>
    sample % 6 === 0 ? [{ place, line: 0, sample, viewRad: 0, choices: choicesAt(sample), showsBothFlanges }] : [],
  );
}

const lay = (crests: readonly SeenCrest[], closed = false): Float64Array =>
  layCrests([{ ...line, closed }], crests, () => 0)[0];

const plainly = (crestMm: number): CrestChoice[] => [{ crestMm, share: 1 }];

describe('crests laid where they are seen', () => {
  it('lie beside where the light puts them along the stretch that another light shines on, and nowhere else', () => {
    const aside = lay(crestsAlong((i) => plainly(i < 120 ? 0 : 0.9)));
    for (const i of [0, 40, 80]) expect(aside[i]).toBeCloseTo(0, 6);
    for (const i of [160, 200, 239]) expect(aside[i]).toBeCloseTo(0.9, 6);
  });

  it('follow a crest that wanders as the track turns', () => {
    const aside = lay(crestsAlong((i) => plainly(0.003 * i)));
    for (const i of [60, 100, 150]) expect(aside[i]).toBeCloseTo(0.003 * i, 2);
  });

  it('are told by edges that fit less well where those that fit best contradict the light and all that is beside', () => {
    const torn = (i: number): CrestChoice[] =>
      i % 12 === 0
        ? plainly(0.2)
        : [
            { crestMm: -1, share: 1 },
            { crestMm: 0.2, share: 0.8 },
          ];
    for (const mm of lay(crestsAlong(torn))) expect(mm).toBeCloseTo(0.2, 6);
  });

  it('lie where the light puts them where what is seen scatters, lies too far off, or is little', () => {
    const scattered = lay(crestsAlong((i) => plainly([-0.9, 0.9, 0, 0.8, -0.8][(i / 6) % 5])));
    expect(Math.max(...scattered.map(Math.abs))).toBeLessThan(0.25);
    expect(Math.max(...lay(crestsAlong(() => plainly(1.4))).map(Math.abs))).toBe(0);
    expect(Math.max(...lay(crestsAlong(() => plainly(0.5)).slice(0, 2)).map(Math.abs))).toBe(0);
  });

  it('count less where one edge of the flanges is all that tells', () => {
    for (const mm of lay(crestsAlong(() => plainly(0.5), false))) expect(mm).toBeCloseTo(0.4, 6);
  });

  it('go on over the seam of a loop', () => {
    const aside = lay(
      crestsAlong((i) => plainly(i < 60 || i > 180 ? 0.6 : 0)),
      true,
    );
    for (const i of [0, 20, 220, 235, 239]) expect(aside[i]).toBeCloseTo(0.6, 6);
    expect(aside[120]).toBeCloseTo(0, 6);
  });

  it('keep rails where they are, though a fifth of them mirrors another light', () => {
    const picture = pictureOfCircle({ x: 0, y: 0, z: 20000 }, 0, 1, (degrees) =>
      degrees > 100 && degrees < 170 ? 0.7 : 0,
    );
    const rough = samples.map(({ x, y }) => ({ x: x * 1.004, y: y * 1.004 }));
    const how = { sidewaysMm: 4, stepMm };
    const [trace] = followLines(picture, 0, camera, tallTrack, [{ line: rough, closed: true }], how);
    const off = trace.samples.map(({ x, y, headingRad, sidewaysMm }) => {
      const [, centre] = sidewaysMm;
      const at = { x: x - centre * Math.sin(headingRad), y: y + centre * Math.cos(headingRad) };
      return Math.abs(Math.hypot(at.x, at.y) - radiusMm);
    });
    const seen = off.filter((mm) => !Number.isNaN(mm));
    expect(seen.length).toBeGreaterThan(150);
    expect(seen.filter((mm) => mm > 0.2).length).toBeLessThan(0.05 * seen.length);
  });
});
