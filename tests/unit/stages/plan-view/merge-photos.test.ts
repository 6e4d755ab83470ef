import { describe, expect, it } from 'vitest';
import { type Camera, tableFromPhotoAtHeight } from '../../../../server/geometry/camera.js';
import { linearFromCode } from '../../../../server/images/linear-light.js';
import { colourPlan } from '../../../../server/images/plan-sampling.js';
import { codesWithFactor } from '../../../../server/stages/plan-view/match-light.js';
import { mergePhotos } from '../../../../server/stages/plan-view/merge-photos.js';

const height = 17.5;

/** A camera one metre above (x, y), looking straight down; 0.4 px to a millimetre. */
function cameraAbove(x: number, y: number, k1 = 0): Camera {
  return {
    lens: { fx: 400, fy: 400, cx: 149.5, cy: 99.5, k1, k2: 0, p1: 0, p2: 0 },
    cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-x, y, 1000 + height] },
  };
}

/** Colour of a soft pattern at a place of the table, codes. */
const colourAt = (x: number, y: number): readonly [number, number, number] => [
  130 + 60 * Math.sin(x / 90) * Math.cos(y / 70),
  120 + 50 * Math.sin(y / 80 + 1),
  110 + 40 * Math.cos((x + y) / 100),
];

/** What the camera sees of the pattern, with a factor of linear light on each colour. */
function photoOf(camera: Camera, light: readonly [number, number, number] = [1, 1, 1]) {
  const [widthPx, heightPx] = [300, 200];
  const data = new Uint8Array(3 * widthPx * heightPx);
  const codes = light.map(codesWithFactor);
  for (let i = 0; i < widthPx * heightPx; i++) {
    const p = tableFromPhotoAtHeight(camera, i % widthPx, Math.floor(i / widthPx), height);
    colourAt(p.x, p.y).forEach((code, c) => {
      data[3 * i + c] = Math.round(codes[c][Math.round(code)]);
    });
  }
  return { raster: { widthPx, heightPx, channels: 3 as const, data }, camera };
}

const grid = { x0: 0, y1: 400, mmPerPx: 4, widthPx: 300, heightPx: 100 };
const left = cameraAbove(330, 200);
const right = cameraAbove(850, 200);

describe('mergePhotos', () => {
  it('shows the whole table where each photo shows a part, in the light of the primary photo', async () => {
    const photos = [photoOf(left), photoOf(right, [1.4, 1.3, 0.8])];
    const before = photos.map((p) => p.raster.data.slice());
    const merged = await mergePhotos(photos, 0, grid, height);
    expect(photos.map((p) => p.raster.data)).toEqual(before);
    let worst = 0;
    for (let j = 4; j < 96; j++)
      for (let i = 2; i < 298; i++) {
        const expected = colourAt(grid.x0 + i * grid.mmPerPx, grid.y1 - j * grid.mmPerPx);
        for (let c = 0; c < 3; c++)
          worst = Math.max(worst, Math.abs(merged.data[3 * (j * grid.widthPx + i) + c] - expected[c]));
      }
    // Rounding to codes before and after the change of light, and sampling at 2.5 mm.
    expect(worst).toBeLessThan(8);
  });

  it('leaves white what no photo shows, and does not take what a bent lens would fold in from beyond its picture', async () => {
    const photos = [photoOf(cameraAbove(330, 200, -0.4)), photoOf(cameraAbove(850, 200, -0.4))];
    const wide = { ...grid, x0: -2000, widthPx: 1200 };
    const merged = await mergePhotos(photos, 0, wide, height);
    const seen = (x: number): boolean => {
      const at = 3 * (50 * wide.widthPx + Math.round((x - wide.x0) / wide.mmPerPx));
      return merged.data[at] !== 255 || merged.data[at + 1] !== 255;
    };
    for (let x = -2000; x < -150; x += 40) expect(seen(x)).toBe(false);
    for (let x = 1340; x < 2780; x += 40) expect(seen(x)).toBe(false);
    for (let x = 20; x < 1180; x += 40) expect(seen(x)).toBe(true);
  });

  it('draws the primary photo alone, pixel for pixel, where that shows everything', async () => {
    const photos = [photoOf(left), photoOf(right)];
    const part = { ...grid, x0: 60, widthPx: 130 };
    const merged = await mergePhotos(photos, 0, part, height);
    expect(Buffer.compare(merged.data, colourPlan(photos[0].raster, left, part, height).data)).toBe(0);
  });

  it('changes light by a factor in linear light', () => {
    const codes = codesWithFactor(0.5);
    for (const code of [10, 90, 200]) {
      const light = linearFromCode[Math.round(codes[code])];
      expect(light / linearFromCode[code]).toBeGreaterThan(0.45);
      expect(light / linearFromCode[code]).toBeLessThan(0.55);
    }
  });
});
