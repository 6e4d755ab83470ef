import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { alignColours } from '../../../../server/images/align-colours.js';
import type { Raster } from '../../../../server/images/raster.js';
import type { MarkerDetection } from '../../../../server/scene/marker-detection.js';
import { measureFringes, mustBeAligned } from '../../../../server/stages/markers/colour-fringes.js';
import { detectMarkers } from '../../../../server/stages/markers/detect-markers.js';
import { renderTags } from '../../../support/render-tags.js';

/** A picture of one marker off the middle, its colours drawn as much larger as told by a plain linear look-up. */
async function photographed(
  scales: readonly [red: number, blue: number],
  exposure = 0.9,
): Promise<{ raster: Raster; markers: readonly MarkerDetection[] }> {
  const tag = { id: 42, x: 480, y: 380, sidePx: 130, turnRad: 0.3, tiltRad: 0.3, tiltTurnRad: 1 };
  const { photo } = await renderTags({
    widthPx: 640,
    heightPx: 480,
    seed: 7,
    tags: [{ ...tag, borderModules: 1, quietModules: 1.5 }],
    blurPx: 0.8,
    noiseCodes: 2,
    exposure,
    lightFall: 0.85,
    shadow: null,
    k1: 0,
    background: 'grain',
    jpegQuality: null,
  });
  const { widthPx: width, heightPx: height, data } = photo.raster;
  const drawn = new Uint8Array(data);
  const [middleX, middleY] = [(width - 1) / 2, (height - 1) / 2];
  for (const [colour, scale] of [
    [0, scales[0]],
    [2, scales[1]],
  ] as const)
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) {
        const px = Math.min(width - 1.001, Math.max(0, middleX + (x - middleX) / scale));
        const py = Math.min(height - 1.001, Math.max(0, middleY + (y - middleY) / scale));
        const at = (dx: number, dy: number): number => data[3 * ((py | 0) + dy) * width + 3 * ((px | 0) + dx) + colour];
        const [fx, fy] = [px % 1, py % 1];
        drawn[3 * (y * width + x) + colour] = Math.round(
          (1 - fy) * ((1 - fx) * at(0, 0) + fx * at(1, 0)) + fy * ((1 - fx) * at(0, 1) + fx * at(1, 1)),
        );
      }
  const jpeg = await sharp(drawn, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 92 })
    .toBuffer();
  const raster = { ...photo.raster, data: new Uint8Array(await sharp(jpeg).raw().toBuffer()) };
  const found = await detectMarkers({ ...photo, raster });
  if (!found.ok) throw new Error(found.problem.code);
  return { raster, markers: found.value };
}

describe('fringes of colour', () => {
  it.each([
    [0.998, 1.0025],
    [1.0015, 0.999],
  ])('are measured on the sides of a marker: red %f, blue %f as large as green', async (red, blue) => {
    const { raster, markers } = await photographed([red, blue]);
    const fringes = measureFringes(raster, markers, 1);
    expect(Math.abs((fringes?.scales.red ?? 0) - red)).toBeLessThan(4e-4);
    expect(Math.abs((fringes?.scales.blue ?? 0) - blue)).toBeLessThan(4e-4);
    expect(fringes && mustBeAligned(raster, fringes)).toBe(true);
  });

  it.each([0.9, 1.3])(
    'are none where all colours are drawn alike, paper clipped white or not (exposure %f)',
    async (exposure) => {
      const { raster, markers } = await photographed([1, 1], exposure);
      const fringes = measureFringes(raster, markers, 1);
      expect(fringes).not.toBeNull();
      expect(fringes && mustBeAligned(raster, fringes)).toBe(false);
    },
  );

  it('are gone from the aligned picture, of which brightness stays where it was', async () => {
    const { raster, markers } = await photographed([0.9975, 1.0025]);
    const fringes = measureFringes(raster, markers, 1);
    const aligned = alignColours(raster, fringes?.scales ?? { red: 1, blue: 1 });
    const left = measureFringes(aligned, markers, 1);
    expect(Math.abs((left?.scales.red ?? 0) - 1)).toBeLessThan(3e-4);
    expect(Math.abs((left?.scales.blue ?? 0) - 1)).toBeLessThan(3e-4);
    const luma = ({ data }: Raster, i: number): number =>
      0.299 * data[3 * i] + 0.587 * data[3 * i + 1] + 0.114 * data[3 * i + 2];
    let square = 0;
    for (let i = 0; i < raster.data.length / 3; i++) square += (luma(aligned, i) - luma(raster, i)) ** 2;
    expect(Math.sqrt(square / (raster.data.length / 3))).toBeLessThan(1);
  });

  it('are not told without a marker, nor in a grey picture', async () => {
    const { raster, markers } = await photographed([1, 1]);
    expect(measureFringes(raster, [], 1)).toBeNull();
    const grey = { ...raster, channels: 1 as const, data: raster.data.filter((_, i) => i % 3 === 1) };
    expect(measureFringes(grey, markers, 1)).toBeNull();
  });
});
