import { describe, expect, it } from 'vitest';
import { normalCdf } from '../../../../server/images/normal-curve.js';
import type { Raster } from '../../../../server/images/raster.js';
import { fitEdge } from '../../../../server/stages/markers/edge-fit.js';
import { gatherPatch, newPatch } from '../../../../server/stages/markers/edge-patch.js';
import { seededRandom } from '../../../support/seeded-random.js';
import { codeOfLight, supposedAt, uprightEdge } from '../../../support/upright-edge.js';

const [widthPx, heightPx, middle] = [60, 40, 29.5];
const supposed = supposedAt(middle, 19.5, 20);

/** An upright edge at the place told, seen through a lens's blur while the hand moved evenly across it, in linear light. */
function drawn(at: number, movedPx: number): Raster {
  const random = seededRandom(4);
  const data = new Uint8Array(3 * widthPx * heightPx);
  for (let i = 0; i < widthPx * heightPx; i++) {
    let light = 0;
    for (let k = 0; k < 40; k++)
      light += (0.03 + 0.7 * normalCdf(((i % widthPx) - at - ((k + 0.5) / 40 - 0.5) * movedPx) / 0.7)) / 40;
    data.fill(Math.round(codeOfLight(light) + 2 * (random() - 0.5)), 3 * i, 3 * i + 3);
  }
  return { widthPx, heightPx, channels: 3, data };
}

describe('the place of an edge between black and white', () => {
  it.each([0, 2, 4, 6])('hardly moves when the hand moved by %d px and the blur is taken for less', (movedPx) => {
    const patch = newPatch();
    const blurPx = 0.85 * Math.hypot(0.7, movedPx / Math.sqrt(12));
    for (const at of [middle - 0.4, middle, middle + 0.3]) {
      gatherPatch(drawn(at, movedPx), supposed, 3 * blurPx + 1.5, 0.4, patch);
      const fit = fitEdge(patch, uprightEdge, supposed, { blurPx, freeBlur: false, spreadPx: 0 });
      expect(Math.abs((fit?.offsetPx ?? Number.NaN) - (at - middle))).toBeLessThan(0.06);
    }
  });
});
