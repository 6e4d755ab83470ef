import { existsSync } from 'node:fs';
import sharp, { type Sharp } from 'sharp';
import { describe, expect, test } from 'vitest';
import { normalCdf } from '../../../../server/images/normal-curve.js';
import {
  type FirstLook,
  firstLook,
  type GreyPatch,
  patchesOf,
  remarksOn,
} from '../../../../server/stages/photo/first-look.js';
import { samplePath } from '../../../support/scene-truth.js';

/** A vertical edge blurred by a Gaussian of sigmaPx: what its 10–90 % width is, is known (2.563 σ). */
function blurredEdge(sigmaPx: number, turned = false): GreyPatch {
  const size = 64;
  const values = new Uint8Array(size * size);
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) {
      const z = ((turned ? y : x) - 31.3) / sigmaPx;
      values[y * size + x] = Math.round(40 + 170 * normalCdf(z));
    }
  }
  return { width: size, height: size, values };
}

describe('firstLook', () => {
  test.each([1, 1.5, 2, 3, 4])('an edge blurred by σ = %s px is 2.56 σ wide, in both directions', (sigma) => {
    for (const turned of [false, true]) {
      const { edgeWidthPx } = firstLook([blurredEdge(sigma, turned)]);
      expect(edgeWidthPx).not.toBeNull();
      expect(Math.abs((edgeWidthPx as number) - 2.563 * sigma)).toBeLessThan(0.15 * sigma + 0.15);
    }
  });

  test('motion in one direction alone is seen', () => {
    expect(remarksOn(firstLook([blurredEdge(1), blurredEdge(5, true)]))).toEqual(['blurred']);
    expect(remarksOn(firstLook([blurredEdge(1), blurredEdge(1, true)]))).toEqual([]);
  });

  test('an even picture says nothing of sharpness, but of light', () => {
    const even = (value: number): GreyPatch => ({ width: 32, height: 32, values: new Uint8Array(1024).fill(value) });
    expect(firstLook([even(120)])).toEqual({ edgeWidthPx: null, whiteRatio: 0, meanGrey: 120 });
    expect(remarksOn(firstLook([even(255)]))).toEqual(['glare']);
    expect(remarksOn(firstLook([even(12)]))).toEqual(['dark']);
  });
});

const samples = [
  'birch-oval',
  'green-table-oval',
  'foam-board-branch',
  'pine-table-tight-loop',
  'two-loops-whole',
  'window-side-oval',
];

describe.skipIf(!existsSync(samplePath('birch-oval.jpg')))('photos', () => {
  test.each(samples)('%s is sharp enough as it is, and not when the phone was shaken', async (name) => {
    expect(remarksOn(await lookAt(sharp(samplePath(`${name}.jpg`))))).toEqual([]);
    expect(remarksOn(await lookAt(sharp(samplePath(`${name}.jpg`)).blur(5)))).toContain('blurred');
  });
});

async function lookAt(picture: Sharp): Promise<FirstLook> {
  const { data, info } = await picture.raw().toBuffer({ resolveWithObject: true });
  return firstLook(patchesOf({ widthPx: info.width, heightPx: info.height, channels: 3, data }));
}
