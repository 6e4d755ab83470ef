import { describe, expect, it } from 'vitest';
import { slitTrails } from '../../../../server/stages/joints/slit-trail.js';
import { sourceSha256 } from '../../../../server/stages/joints/slit-trail-kernel.js';
import { type SlitView, slitStepMm } from '../../../../server/stages/joints/slit-views.js';
import { plainSlitTrail } from '../../../support/joints/plain-slit-trail.js';
import { sha256Of } from '../../../support/kernel-source.js';
import { normalFrom, seededRandom } from '../../../support/seeded-random.js';

const cutRow = 700;

/** A rail on grain, brighter at its crest, that runs out of the photo near its end; with one cut, shifted as a head's is. */
function view(part: SlitView['part'], rows: number, columns: number, seed: number, cutShare = 0.3): SlitView {
  const normal = normalFrom(seededRandom(seed));
  const shiftAt = (row: number, k: number): number => (part === 'head' ? (k - columns / 2) / 3 + row / 1000 : 0);
  const data = new Float32Array(rows * columns);
  for (let i = 0; i < rows; i++)
    for (let k = 0; k < columns; k++) {
      const crest = 0.2 + 0.5 * Math.exp(-(((k - columns / 2) / 3) ** 2)) + 0.04 * Math.sin(i / 90);
      const cut = 1 - cutShare * Math.exp(-(((i - cutRow - shiftAt(cutRow, k)) / 2) ** 2));
      const outside = i > rows - 40 && k < 4;
      data[i * columns + k] = outside ? Number.NaN : Math.max(0, crest * cut + 0.02 * normal());
    }
  const seen = Array.from({ length: columns }, (_, k) => k);
  return {
    part,
    rail: 0,
    acrossMm: 0,
    strip: { rail: 0, stepMm: slitStepMm, rows, columns, acrossStepMm: 0.4, data },
    columnsAt: (row) => (part === 'head' ? seen : seen.filter((k) => Math.abs(k - columns / 2) > 4 + row / 900)),
    slopesAt: () => ({ along: 0, left: 0 }),
    shiftMmAt: (row: number, k: number) => shiftAt(row, k) * slitStepMm,
    overFlangeMm: 10.5,
    faceMmAt: () => 0,
    brightestAt: (row) => data.subarray(row * columns, (row + 1) * columns),
  };
}

/** Of lengths that fill no vector and no block, and of hardly any length. */
const views = [
  view('head', 1503, 17, 1),
  view('flange', 1503, 30, 2),
  view('flange', 241, 16, 3),
  view('head', 9, 5, 4),
];

describe('a trail of slits', () => {
  it('is what plain loops make of the same strips, to single precision', () => {
    for (const blurMm of [0.32, 0.55]) {
      const trails = slitTrails(views, blurMm);
      views.forEach((v, n) => {
        const plain = plainSlitTrail(v, blurMm);
        const { darkening, scatter, beside, tilt, part } = trails[n];
        expect(part).toBe(plain.part);
        for (let i = 0; i < v.strip.rows; i++) {
          expect(Math.abs(darkening[i] - plain.darkening[i])).toBeLessThan(2e-4);
          expect(Math.abs(tilt[i] - plain.tilt[i])).toBeLessThan(2e-4);
          // In units of a scatter of a hundredth and more.
          expect(Math.abs(beside[i] - plain.beside[i])).toBeLessThan(2e-2);
          if (Number.isFinite(plain.scatter[i])) expect(Math.abs(scatter[i] / plain.scatter[i] - 1)).toBeLessThan(0.01);
          else expect(scatter[i]).toBe(plain.scatter[i]);
        }
      });
    }
  });

  it('is darkest at a cut, by many times its scatter, and by little without one', () => {
    for (const part of ['head', 'flange'] as const) {
      const [withCut, without] = slitTrails([view(part, 1503, 20, 5), view(part, 1503, 20, 5, 0)], 0.45);
      const darkest = withCut.darkening.indexOf(Math.max(...withCut.darkening));
      expect(Math.abs(darkest - cutRow)).toBeLessThan(2);
      expect(withCut.darkening[darkest]).toBeGreaterThan(8 * withCut.scatter[darkest]);
      expect(without.darkening[darkest]).toBeLessThan(4 * without.scatter[darkest]);
    }
  });

  it('stems from its source as it is: node server/kernels/build.mjs compiles it again', () => {
    expect(sha256Of('slit-trail')).toBe(sourceSha256);
  });
});
