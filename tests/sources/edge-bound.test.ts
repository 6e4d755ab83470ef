import { describe, expect, it } from 'vitest';
import { normalCdf } from '../../server/images/normal-curve.js';
import type { Raster } from '../../server/images/raster.js';
import { fitEdge } from '../../server/stages/markers/edge-fit.js';
import { gatherPatch, newPatch } from '../../server/stages/markers/edge-patch.js';
import { normalFrom, seededRandom } from '../support/seeded-random.js';
import { codeOfLight, supposedAt, uprightEdge } from '../support/upright-edge.js';

const lightOf = (code: number): number =>
  code / 255 <= 0.04045 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4;

interface Step {
  readonly dark: number;
  readonly bright: number;
  readonly noise: number;
  readonly blurPx: number;
}

const [widthPx, heightPx, middle] = [40, 40, 19.5];
const supposed = supposedAt(middle, middle, 18);

/** Codes of a blurred upright step at `at`, without noise. */
function codeAt({ dark, bright, blurPx }: Step, x: number, at: number): number {
  const share = normalCdf((x - at) / blurPx);
  return codeOfLight(lightOf(dark) + share * (lightOf(bright) - lightOf(dark)));
}

/**
 * The estimator's root mean square error over many noisy pictures, the rows it used, and what noise lets be known.
 * Reach and blur as in the last round of refining a marker. Blacks below 2 % of full light are not asked for: the
 * estimator trusts them less than noise that is even in the codes would have it.
 */
function scatterOf(step: Step, rounds: number, seed: number) {
  const random = seededRandom(seed);
  const normal = normalFrom(random);
  const patch = newPatch();
  const reachPx = 3 * step.blurPx + 1.5;
  // Rounding to whole codes is noise of 1/√12 code.
  const sigma = Math.hypot(step.noise, 1 / Math.sqrt(12));
  let [squares, sum, stated, information, rows] = [0, 0, 0, 0, 0];
  for (let k = 0; k < rounds; k++) {
    const at = middle + random() - 0.5;
    const data = new Uint8Array(widthPx * heightPx * 3);
    for (let i = 0; i < widthPx * heightPx; i++)
      data.fill(Math.round(codeAt(step, i % widthPx, at) + step.noise * normal()), 3 * i, 3 * i + 3);
    const raster: Raster = { widthPx, heightPx, channels: 3, data };
    gatherPatch(raster, supposed, reachPx, 0.4, patch);
    const fit = fitEdge(patch, uprightEdge, supposed, { blurPx: step.blurPx, freeBlur: false, spreadPx: 0 });
    if (fit === null) throw new Error('no edge');
    const error = fit.offsetPx - (at - middle);
    squares += error * error;
    sum += error;
    stated += fit.sigmaPx ** 2;
    rows = new Set(Array.from(patch.t.slice(0, patch.count))).size;
    for (let x = 0; x < widthPx; x++)
      information +=
        (rows * ((codeAt(step, x, at + 1e-3) - codeAt(step, x, at - 1e-3)) / 2e-3) ** 2) / sigma ** 2 / rounds;
  }
  return {
    rmsPx: Math.sqrt(squares / rounds),
    biasPx: sum / rounds,
    statedPx: Math.sqrt(stated / rounds),
    boundPx: 1 / Math.sqrt(information),
    rows,
    sigma,
  };
}

/** Gatherer, Stanford CSL-TR-93-560 (1993): (σ/A)·√(2√π·w), over √N rows. */
function published(step: Step, sigma: number, rows: number): number {
  const contrast = step.bright - step.dark;
  return ((sigma / contrast) * Math.sqrt(2 * Math.sqrt(Math.PI) * step.blurPx)) / Math.sqrt(rows);
}

describe('the edge estimator beside the published bound of edge position', () => {
  it('scatters 1 to 1.3 times the bound of Gatherer (1993) where the tone curve is as good as straight', () => {
    const step = { dark: 110, bright: 160, noise: 2, blurPx: 0.8 };
    const { rmsPx, biasPx, rows, sigma, statedPx } = scatterOf(step, 1200, 7);
    const bound = published(step, sigma, rows);
    // 1200 pictures tell a scatter to 2 %.
    expect(rmsPx / bound).toBeGreaterThan(0.97);
    expect(rmsPx / bound).toBeLessThan(1.3);
    expect(Math.abs(biasPx)).toBeLessThan(0.2 * rmsPx);
    expect(statedPx / rmsPx).toBeGreaterThan(0.9);
    expect(statedPx / rmsPx).toBeLessThan(1.25);
  });

  it('does so for full contrast and soft edges too, the bound worked out through the tone curve', () => {
    for (const step of [
      { dark: 60, bright: 230, noise: 2, blurPx: 0.8 },
      { dark: 60, bright: 230, noise: 6, blurPx: 1.5 },
      { dark: 45, bright: 110, noise: 3, blurPx: 0.7 },
    ]) {
      const { rmsPx, boundPx, biasPx } = scatterOf(step, 600, 11);
      expect(rmsPx / boundPx).toBeGreaterThan(0.95);
      expect(rmsPx / boundPx).toBeLessThan(1.3);
      expect(Math.abs(biasPx)).toBeLessThan(0.4 * rmsPx);
    }
  });
});
