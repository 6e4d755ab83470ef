import { describe, expect, it } from 'vitest';
import type { Photo } from '../../../../server/scene/photo.js';
import { croppingOf } from '../../../../server/stages/camera/cropped-photo.js';
import {
  type DoubtedLenses,
  doubtedByLook,
  noDoubts,
  startCamera,
} from '../../../../server/stages/camera/start-camera.js';
import { noExif } from '../../../support/no-exif.js';

function photoOf(widthPx: number, heightPx: number, storedSizePx: [number, number] | null = null): Photo {
  const raster = { widthPx, heightPx, channels: 3, data: new Uint8Array(0) } as const;
  return { name: 'made.jpg', raster, exif: { ...noExif, focalLength35mm: 26, storedSizePx } };
}

describe('a photo', () => {
  it.each([
    [4032, 3024],
    [3024, 4032],
    [4624, 3472],
    [4208, 3120],
    [6000, 4000],
    [1920, 1080],
    [1600, 1200],
    [3000, 3000],
    [4000, 1800],
  ])('of %d × %d pixels looks whole', (width, height) => {
    expect(croppingOf(photoOf(width, height))).toBeNull();
    expect(croppingOf(photoOf(width, height, [width, height]))).toBeNull();
  });

  it('made smaller as a whole is not cropped, whatever its shape', () => {
    expect(croppingOf(photoOf(1512, 700, [4320, 2000]))).toBeNull();
    expect(croppingOf(photoOf(700, 1512, [4320, 2000]))).toBeNull();
  });

  it('of another shape than cameras take was cropped, nobody knows how much', () => {
    const cropping = croppingOf(photoOf(3468, 2933, [3468, 2933]));
    expect(cropping?.centreUPx[0]).toBeGreaterThan(0.05 * 3468);
    expect(cropping?.diagonalUShare).toBeGreaterThan(0.05);
  });

  it('smaller than the file says was cropped by what is missing', () => {
    const cropping = croppingOf(photoOf(3024, 3024, [4032, 3024]));
    expect(cropping?.diagonalPx).toBe(5040);
    expect(cropping?.diagonalUShare).toBe(0);
    // Anything from all of it on the left to all of it on the right: a uniform distribution (JCGM 100:2008, 4.3.7).
    expect(cropping?.centreUPx[0]).toBeCloseTo(1008 / Math.sqrt(12), 9);
    expect(cropping?.centreUPx[1]).toBeLessThan(20);
    expect(croppingOf(photoOf(3024, 2000, [3024, 4032]))?.diagonalPx).toBe(5040);
  });
});

describe('a lens that is drawn far from what its photo told', () => {
  const corners = [
    { x: 1900, y: 1400 },
    { x: 2100, y: 1400 },
    { x: 2100, y: 1600 },
    { x: 1900, y: 1600 },
  ];
  const detections = [[{ id: 1, cornersInPhoto: corners, sigmaPx: 0.1 }]] as never;
  const photos = [photoOf(4032, 3024)];

  function lookAt(doubted: DoubtedLenses, offPx: number, focalShare = 1) {
    const started = startCamera(photos, detections, 120, doubted);
    if (!started.ok) throw new Error(started.problem.code);
    const start = started.value;
    const drawn = start.state.cameras.map((c) => ({
      ...c,
      lens: { ...c.lens, cx: c.lens.cx + offPx, fx: c.lens.fx * focalShare, fy: c.lens.fy * focalShare },
    }));
    return { start, next: doubtedByLook(start, { ...start.state, cameras: drawn }, doubted) };
  }

  it('in its axis is that of a cropped photo', () => {
    expect(lookAt(noDoubts, 20).next).toBeNull();
    expect(lookAt(noDoubts, -80).next).toEqual({ cropped: [0], focalUntold: [] });
  });

  it('in its axis may lie there once that is known', () => {
    const { start, next } = lookAt({ cropped: [0], focalUntold: [] }, -700);
    expect(start.cropped).toEqual([0]);
    expect(start.principalPoints[0].uPx[0]).toBeGreaterThan(200);
    expect(next).toBeNull();
  });

  it('in its focal length has one that the file does not tell, and that is found first', () => {
    expect(lookAt(noDoubts, 0, 1.05).next).toBeNull();
    expect(lookAt(noDoubts, -80, 1.2).next).toEqual({ cropped: [], focalUntold: [0] });
    const untold = lookAt({ cropped: [], focalUntold: [0] }, 0, 1.5);
    expect(untold.start.focalPrior[0].uPx / untold.start.focalPrior[0].valuePx).toBeCloseTo(0.2, 9);
    expect(untold.next).toBeNull();
  });
});
