import { describe, expect, it } from 'vitest';
import { distanceInside } from '../../../server/opencv/distance-inside.js';
import { loadOpenCv } from '../../../server/opencv/load-opencv.js';
import { withMats } from '../../../server/opencv/with-mats.js';
import { seededRandom } from '../../support/seeded-random.js';

describe('distanceInside', () => {
  it('is the distance to the nearest pixel outside, as a look at every pair gives it', async () => {
    const random = seededRandom(31);
    const [widthPx, heightPx] = [37, 23];
    const data = Uint8Array.from({ length: widthPx * heightPx }, () => (random() < 0.9 ? 1 : 0));
    const found = await distanceInside({ widthPx, heightPx, channels: 1, data });
    data.forEach((inside, i) => {
      let nearest = inside ? Number.POSITIVE_INFINITY : 0;
      if (inside)
        data.forEach((other, k) => {
          const far = Math.hypot((i % widthPx) - (k % widthPx), Math.floor(i / widthPx) - Math.floor(k / widthPx));
          if (other === 0) nearest = Math.min(nearest, far);
        });
      expect(found[i]).toBeCloseTo(nearest, 4);
    });
  });

  it('is endless where everything is inside, and 0 where nothing is', async () => {
    const picture = (value: number) => ({
      widthPx: 5,
      heightPx: 4,
      channels: 1 as const,
      data: new Uint8Array(20).fill(value),
    });
    expect((await distanceInside(picture(1))).every((d) => d === Number.POSITIVE_INFINITY)).toBe(true);
    expect((await distanceInside(picture(0))).every((d) => d === 0)).toBe(true);
  });

  it('keeps the library’s memory as it is over 300 calls, a third of them failing inside', async () => {
    const opencv = await loadOpenCv();
    const picture = { widthPx: 600, heightPx: 400, channels: 1 as const, data: new Uint8Array(240_000).fill(1) };
    picture.data[0] = 0;
    await distanceInside(picture);
    const before = opencv.cv.HEAPU8.length;
    for (let i = 0; i < 300; i++) {
      if (i % 3 === 0)
        expect(() =>
          withMats(opencv, (keep) => {
            keep(new opencv.cv.Mat(2000, 1000, opencv.cv.CV_8UC1));
            throw new RangeError('midway');
          }),
        ).toThrow('midway');
      else await distanceInside(picture);
    }
    expect(opencv.cv.HEAPU8.length).toBe(before);
  });

  it('says in words what the library throws as a number', async () => {
    const opencv = await loadOpenCv();
    const { cv } = opencv;
    expect(() =>
      withMats(opencv, (keep) => {
        const floats = keep(new cv.Mat());
        const mask = keep(new cv.Mat(4, 4, cv.CV_8UC1));
        cv.distanceTransform(mask, floats, cv.DIST_L2, cv.DIST_MASK_PRECISE);
        // Distances are no mask: the library throws.
        cv.distanceTransform(floats, keep(new cv.Mat()), cv.DIST_L2, cv.DIST_MASK_PRECISE);
      }),
    ).toThrow(/OpenCV: .*CV_8UC1/);
  });

  it('leaves no handlers of the library on the process', async () => {
    const before = process.listenerCount('uncaughtException');
    await loadOpenCv();
    const own = [...process.rawListeners('uncaughtException'), ...process.rawListeners('unhandledRejection')];
    expect(own.filter((f) => /abort|ExitStatus/.test(String(f)))).toEqual([]);
    expect(process.listenerCount('uncaughtException')).toBe(before);
  });
});
