import { describe, expect, it } from 'vitest';
import { covers, missesRails } from '../../../../server/stages/joints/missing-spans.js';
import type { RailStrip } from '../../../../server/stages/joints/rail-strips.js';
import { makeTemplate, unlikeness } from '../../../../server/stages/joints/strip-template.js';
import { seededRandom } from '../../../support/seeded-random.js';

const [stepMm, columns] = [0.5, 17];

/** A bright crest between darker flanks; its light grows along the rail as it does round a curve. */
const railLight = (s: number, k: number): number => (Math.abs(k - 8) < 3 ? 0.3 + s / 4000 : 0.1 + s / 9000);

/** A side of something, lit from above: brighter towards one side of the strip. */
const coverLight = (k: number): number => 0.05 + 0.02 * k;

function stripWith(lengthMm: number, cover: readonly [number, number]): RailStrip {
  const random = seededRandom(3);
  const rows = lengthMm / stepMm;
  const data = Float32Array.from({ length: rows * columns }, (_, at) => {
    const [s, k] = [Math.floor(at / columns) * stepMm, at % columns];
    const light = s >= cover[0] && s < cover[1] ? coverLight(k) : railLight(s, k);
    return light * (0.96 + 0.08 * random());
  });
  return { rail: 0, stepMm, rows, columns, acrossStepMm: 0.25, data };
}

const shareUnlike = (values: Float32Array, from: number, to: number): number => {
  const part = values.slice(from / stepMm, to / stepMm);
  return part.filter((v) => v > 0.45).length / part.length;
};

describe('what a rail looks like', () => {
  it.each([60, 180, 260])('is not learnt from something %i mm long that covers it', (lengthMm) => {
    const cover = [500, 500 + lengthMm] as const;
    const strip = stripWith(1300, cover);
    const unlike = unlikeness(strip, makeTemplate(strip, 60), 1);
    expect(shareUnlike(unlike, cover[0] + 2, cover[1] - 2)).toBeGreaterThan(0.98);
    expect(shareUnlike(unlike, 0, cover[0] - 2)).toBeLessThan(0.01);
    expect(shareUnlike(unlike, cover[1] + 2, 1300)).toBeLessThan(0.01);
  });
});

describe('stretches without rails', () => {
  it('are covers where they are long, or several of them near to each other', () => {
    const wagon = { from: 100, to: 260 };
    const parts = [
      { from: 900, to: 920 },
      { from: 950, to: 966 },
    ];
    const rust = [
      { from: 400, to: 425 },
      { from: 600, to: 630 },
      { from: 680, to: 690 },
    ];
    expect(covers([wagon, ...rust, ...parts])).toEqual([wagon, ...parts]);
  });

  it.each([
    [56, [[110, 152]], true],
    [24, [], true],
    [29, [[100, 101]], false],
    [46, [[145, 146]], false],
    [90, [[100, 140]], false],
  ] as const)('fill a gap of %i mm but for what pins reach into it', (lengthMm, missing, isGap) => {
    const spans = missing.map(([from, to]) => ({ from, to }));
    expect(missesRails(spans, 100, 100 + lengthMm, 14)).toBe(isGap);
  });
});
