import { describe, expect, it, vi } from 'vitest';
import { detectMarkers } from '../../../../server/stages/markers/detect-markers.js';
import { compareMarkers, quantile } from '../../../support/compare-markers.js';
import { type PlacedTag, renderTags, type TagScene } from '../../../support/render-tags.js';

// Many pictures in one test: a loaded machine takes its time.
vi.setConfig({ testTimeout: 30_000 });

const plain: TagScene = {
  widthPx: 400,
  heightPx: 320,
  seed: 3,
  tags: [],
  blurPx: 0.7,
  noiseCodes: 2,
  exposure: 0.9,
  lightFall: 0.8,
  shadow: null,
  k1: -0.03,
  background: 'grain',
  jpegQuality: 92,
};

const tag: PlacedTag = {
  id: 42,
  x: 200,
  y: 160,
  sidePx: 150,
  turnRad: 0.4,
  tiltRad: 0.4,
  tiltTurnRad: 1,
  borderModules: 1,
  quietModules: 1.5,
};

async function detect(scene: Partial<TagScene>, options = {}) {
  const { photo, truth } = await renderTags({ ...plain, tags: [tag], ...scene });
  const before = photo.raster.data.slice();
  const result = await detectMarkers(photo, options);
  if (!result.ok) throw new Error(result.problem.code);
  expect(Buffer.compare(photo.raster.data, before)).toBe(0);
  return { detections: result.value, ...compareMarkers(result.value, truth) };
}

describe('detectMarkers', () => {
  it.each([0, 1, 2, 3, 4, 5, 6, 7])(
    'names corners in the order of the printed tag, whichever way it lies (%i/8 turn)',
    async (eighth) => {
      const { found, errorsPx } = await detect({ tags: [{ ...tag, turnRad: (eighth * Math.PI) / 4 + 0.05 }] });
      expect(found).toBe(1);
      expect(Math.max(...errorsPx)).toBeLessThan(0.1);
    },
  );

  it.each([16, 24, 40, 80, 160, 240])(
    'finds a tag of %i pixels and its corners to a tenth of a pixel',
    async (sidePx) => {
      const { found, errorsPx, falseIds } = await detect({ tags: [{ ...tag, sidePx, tiltRad: 0 }] });
      expect(found).toBe(1);
      expect(falseIds).toEqual([]);
      expect(quantile(errorsPx, 1)).toBeLessThan(sidePx < 30 ? 0.2 : 0.1);
    },
  );

  it('finds tags of 12 pixels where the whole picture is small, as pictures sent on are', async () => {
    const tags = Array.from({ length: 24 }, (_, i) => ({
      ...tag,
      id: 20 * i + 3,
      x: 40 + 60 * (i % 6),
      y: 40 + 60 * Math.floor(i / 6),
      sidePx: 12,
      turnRad: 0.5 * i,
      tiltRad: 0.3,
      tiltTurnRad: i,
    }));
    const { found, falseIds, errorsPx } = await detect({ tags, blurPx: 0.4, background: 'clutter', jpegQuality: 85 });
    expect(found).toBe(24);
    expect(falseIds).toEqual([]);
    expect(Math.max(...errorsPx)).toBeLessThan(0.3);
  });

  it('finds a tag tilted by 45° in any direction', async () => {
    for (const tiltTurnRad of [0, 0.8, 1.6, 2.4]) {
      const { found, errorsPx } = await detect({ tags: [{ ...tag, tiltRad: Math.PI / 4, tiltTurnRad }] });
      expect(found).toBe(1);
      expect(Math.max(...errorsPx)).toBeLessThan(0.12);
    }
  });

  it('takes out how far clipped paper reaches into the black, and says that it is clipped', async () => {
    const { found, errorsPx, detections } = await detect({ exposure: 2.2, noiseCodes: 3 });
    expect(found).toBe(1);
    expect(detections[0].clippedWhite).toBe(true);
    expect(Math.max(...errorsPx)).toBeLessThan(0.15);
    const normal = await detect({});
    expect(normal.detections[0].clippedWhite).toBe(false);
  });

  it('reads across the hard edge of a shadow', async () => {
    for (const angleRad of [0.3, 1.2, 2.5, 4]) {
      const { found, errorsPx } = await detect({ shadow: { x: 203, y: 156, angleRad, share: 0.25 } });
      expect(found).toBe(1);
      expect(Math.max(...errorsPx)).toBeLessThan(0.25);
    }
  });

  it('reads a tag in dim light and noise, and states a larger uncertainty for it', async () => {
    const bright = await detect({});
    const dim = await detect({ exposure: 0.06, noiseCodes: 7 });
    expect(dim.found).toBe(1);
    expect(Math.max(...dim.errorsPx)).toBeLessThan(0.4);
    expect(dim.detections[0].sigmaPx).toBeGreaterThan(1.5 * bright.detections[0].sigmaPx);
  });

  it('reads white paper on a white table', async () => {
    const { found } = await detect({ background: 'white', exposure: 1 });
    expect(found).toBe(1);
  });

  it('reads older printings with a border of two modules only when asked to', async () => {
    const tags = [{ ...tag, borderModules: 2 as const }];
    const asked = await detect({ tags }, { borderModules: 2 });
    expect(asked.found).toBe(1);
    expect(Math.max(...asked.errorsPx)).toBeLessThan(0.1);
    expect((await detect({ tags })).detections).toEqual([]);
    expect((await detect({}, { borderModules: 2 })).detections).toEqual([]);
  });

  it('leaves out a tag that the picture cuts', async () => {
    for (const x of [70, 78, 330]) {
      const { detections } = await detect({ tags: [{ ...tag, x, tiltRad: 0, turnRad: 0.3 }] });
      const cut = await renderTags({ ...plain, tags: [{ ...tag, x, tiltRad: 0, turnRad: 0.3 }] });
      const outside = cut.truth[0].corners.some((v, i) => i % 2 === 0 && (v < -0.5 || v > 399.5));
      expect(detections.length).toBe(outside ? 0 : 1);
    }
  });

  it.each([
    ['dark', 0.05],
    ['bright', 0.8],
  ])('leaves out a tag of which a %s thing covers a corner or a side', async (_name, reflectance) => {
    const { truth } = await renderTags({ ...plain, tags: [tag] });
    const c = truth[0].corners;
    for (let i = 0; i < 4; i++) {
      const j = (i + 1) % 4;
      const corner = { x: c[2 * i], y: c[2 * i + 1], radiusPx: 42, reflectance };
      const side = { x: (c[2 * i] + c[2 * j]) / 2, y: (c[2 * i + 1] + c[2 * j + 1]) / 2, radiusPx: 50, reflectance };
      for (const cover of [corner, side]) expect((await detect({ covers: [cover] })).detections).toEqual([]);
    }
  });

  it('keeps a tag that a small thing touches, and its corners', async () => {
    const { truth } = await renderTags({ ...plain, tags: [tag] });
    const c = truth[0].corners;
    const cover = { x: (c[0] + c[2]) / 2, y: (c[1] + c[3]) / 2, radiusPx: 9, reflectance: 0.1 };
    const { found, errorsPx } = await detect({ covers: [cover] });
    expect(found).toBe(1);
    expect(Math.max(...errorsPx)).toBeLessThan(0.2);
  });

  it('finds two tags of the same id in two places', async () => {
    const tags = [
      { ...tag, sidePx: 90, x: 100 },
      { ...tag, sidePx: 90, x: 300, turnRad: 2 },
    ];
    const { found, falseIds } = await detect({ tags });
    expect([found, falseIds]).toEqual([2, []]);
  });

  it('finds nothing where there is nothing: one colour, noise, and a picture smaller than any tag', async () => {
    for (const scene of [
      { tags: [], background: 'plain' as const, noiseCodes: 0 },
      { tags: [], noiseCodes: 40 },
      { tags: [], widthPx: 9, heightPx: 7 },
      { tags: [], widthPx: 1, heightPx: 1 },
    ])
      expect((await detect(scene)).detections).toEqual([]);
  });

  it('gives the same answer for the same photo', async () => {
    const { photo } = await renderTags({ ...plain, tags: [tag] });
    expect(await detectMarkers(photo)).toEqual(await detectMarkers(photo));
  });

  it('stops when the work is called off', async () => {
    const { photo } = await renderTags({ ...plain, tags: [] });
    await expect(detectMarkers(photo, { signal: AbortSignal.abort() })).rejects.toMatchObject({ name: 'AbortError' });
  });
});
