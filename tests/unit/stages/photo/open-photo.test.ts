import { readFile } from 'node:fs/promises';
import { crc32 } from 'node:zlib';
import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import type { Raster } from '../../../../server/images/raster.js';
import { type ExifOrientation, swapsSides } from '../../../../server/images/turn-raster.js';
import { describePhoto } from '../../../../server/stages/photo/describe-photo.js';
import { openPhoto } from '../../../../server/stages/photo/open-photo.js';
import { noExif } from '../../../support/no-exif.js';

const limits = { leastSidePx: 1, mostMegapixels: 100 };

/** An upright picture in which every pixel differs from every other. */
function distinctPixels(widthPx: number, heightPx: number): Raster {
  const data = new Uint8Array(widthPx * heightPx * 3);
  for (let i = 0; i < widthPx * heightPx; i++) data.set([i % widthPx, Math.floor(i / widthPx), (i * 37) % 251], i * 3);
  return { widthPx, heightPx, channels: 3, data };
}

/** Where the upright pixel (x, y) is stored in a picture of w × h stored pixels: the table of EXIF 2.32, tag 0x0112. */
const storedAt: Record<ExifOrientation, (x: number, y: number, w: number, h: number) => [number, number]> = {
  1: (x, y) => [x, y],
  2: (x, y, w) => [w - 1 - x, y],
  3: (x, y, w, h) => [w - 1 - x, h - 1 - y],
  4: (x, y, _w, h) => [x, h - 1 - y],
  5: (x, y) => [y, x],
  6: (x, y, _w, h) => [y, h - 1 - x],
  7: (x, y, w, h) => [w - 1 - y, h - 1 - x],
  8: (x, y, w) => [w - 1 - y, x],
};

function stored(upright: Raster, orientation: ExifOrientation) {
  const w = swapsSides(orientation) ? upright.heightPx : upright.widthPx;
  const h = swapsSides(orientation) ? upright.widthPx : upright.heightPx;
  const data = new Uint8Array(upright.data.length);
  for (let y = 0; y < upright.heightPx; y++)
    for (let x = 0; x < upright.widthPx; x++) {
      const [sx, sy] = storedAt[orientation](x, y, w, h);
      for (let c = 0; c < 3; c++) data[(sy * w + sx) * 3 + c] = upright.data[(y * upright.widthPx + x) * 3 + c];
    }
  return sharp(data, { raw: { width: w, height: h, channels: 3 } }).withMetadata({ orientation });
}

async function opened(bytes: Uint8Array) {
  const result = await openPhoto('photo', bytes, limits);
  if (!result.ok) throw new Error(result.problem.code);
  return result.value;
}

async function problemOf(bytes: Uint8Array, options = {}): Promise<string> {
  const result = await openPhoto('photo', bytes, options);
  return result.ok ? 'opened' : result.problem.code;
}

const picture = (width: number, height: number) =>
  sharp({ create: { width, height, channels: 3, background: '#888888' } });

describe('openPhoto', () => {
  it.each([1, 2, 3, 4, 5, 6, 7, 8] as const)(
    'turns a photo of EXIF orientation %i upright, pixel for pixel',
    async (o) => {
      const upright = distinctPixels(23, 14);
      for (const file of [stored(upright, o).png(), stored(upright, o).webp({ lossless: true })]) {
        const photo = await opened(await file.toBuffer());
        expect([photo.raster.widthPx, photo.raster.heightPx]).toEqual([23, 14]);
        expect(Buffer.compare(photo.raster.data, upright.data)).toBe(0);
      }
    },
  );

  it.each([1, 2, 3, 4, 5, 6, 7, 8] as const)('turns a JPEG of EXIF orientation %i upright', async (o) => {
    const upright = distinctPixels(64, 40);
    const jpeg = await stored(upright, o).jpeg({ quality: 100, chromaSubsampling: '4:4:4' }).toBuffer();
    const photo = await opened(jpeg);
    expect([photo.raster.widthPx, photo.raster.heightPx]).toEqual([64, 40]);
    const corner = (x: number, y: number) => [...photo.raster.data.subarray((y * 64 + x) * 3, (y * 64 + x) * 3 + 2)];
    for (const [x, y] of [
      [2, 2],
      [61, 2],
      [2, 37],
      [61, 37],
    ]) {
      expect(Math.abs(corner(x, y)[0] - x)).toBeLessThanOrEqual(6);
      expect(Math.abs(corner(x, y)[1] - y)).toBeLessThanOrEqual(6);
    }
    const described = await describePhoto('photo', jpeg, limits);
    expect(described).toEqual({ ok: true, value: { format: 'jpeg', widthPx: 64, heightPx: 40 } });
  });

  it.each([
    ['quarters.heic', [240, 160], ['red', 'green', 'blue', 'yellow']],
    ['quarters-exif-6.heic', [160, 240], ['blue', 'red', 'yellow', 'green']],
    ['quarters-both-6.heic', [160, 240], ['blue', 'red', 'yellow', 'green']],
  ])('turns %s once', async (file, size, quarters) => {
    const bytes = await readFile(new URL(`../../../support/photos/${file}`, import.meta.url));
    const { raster, exif } = await opened(bytes);
    expect([raster.widthPx, raster.heightPx]).toEqual(size);
    const named = { red: [220, 40, 40], green: [40, 200, 60], blue: [50, 60, 220], yellow: [230, 220, 60] };
    quarters.forEach((name, i) => {
      const x = Math.round(raster.widthPx * (i % 2 ? 0.75 : 0.25));
      const y = Math.round(raster.heightPx * (i > 1 ? 0.75 : 0.25));
      for (let c = 0; c < 3; c++)
        expect(
          Math.abs(raster.data[(y * raster.widthPx + x) * 3 + c] - named[name as keyof typeof named][c]),
        ).toBeLessThan(12);
    });
    expect(exif).toMatchObject({ make: 'Invented', model: 'Sample 1', focalLength35mm: 26, focalLengthMm: 5.7 });
    const described = await describePhoto('photo', bytes, limits);
    expect(described).toEqual({ ok: true, value: { format: 'heic', widthPx: size[0], heightPx: size[1] } });
  });

  it('opens grey, 16-bit, CMYK and palette pictures as 8-bit sRGB in three channels', async () => {
    const grey = Uint8Array.from({ length: 40 * 30 }, (_, i) => 60 + (i % 40) * 4);
    const raw = { raw: { width: 40, height: 30, channels: 1 as const } };
    const deep = Uint16Array.from(grey, (v) => v * 257);
    // The last number is how far codes may be off: printing inks do not reach every grey exactly.
    const files = [
      [sharp(grey, raw).toColourspace('b-w').png(), 0],
      [sharp(deep, raw).toColourspace('grey16').png(), 0],
      [sharp(grey, raw).png({ palette: true }), 0],
      [sharp(grey, raw).toColourspace('cmyk').jpeg({ quality: 100 }), 25],
    ] as const;
    for (const [file, mostOff] of files) {
      const { raster } = await opened(await file.toBuffer());
      expect([raster.channels, raster.data.length]).toEqual([3, 40 * 30 * 3]);
      for (const x of [5, 20, 35])
        for (let c = 0; c < 3; c++)
          expect(Math.abs(raster.data[(15 * 40 + x) * 3 + c] - (60 + x * 4))).toBeLessThanOrEqual(mostOff);
    }
  });

  it('lays transparent parts on white', async () => {
    const clear = sharp({ create: { width: 20, height: 20, channels: 4, background: { r: 0, g: 0, b: 0, alpha: 0 } } });
    for (const file of [clear.clone().png(), clear.clone().webp()]) {
      const { raster } = await opened(await file.toBuffer());
      expect(raster.data.every((code) => code === 255)).toBe(true);
    }
  });

  it('takes the first picture of an animation', async () => {
    const frames = Buffer.alloc(20 * 40 * 3);
    frames.fill(200, 0, 20 * 20 * 3);
    const webp = await sharp(frames, { raw: { width: 20, height: 40, channels: 3, pageHeight: 20 } })
      .webp({ lossless: true, loop: 0, delay: [100, 100] })
      .toBuffer();
    expect((await sharp(webp).metadata()).pages).toBe(2);
    const { raster } = await opened(webp);
    expect([raster.widthPx, raster.heightPx, raster.data[0]]).toEqual([20, 20, 200]);
  });

  it('goes by the content and not by the name', async () => {
    const png = await picture(200, 200).png().toBuffer();
    expect((await openPhoto('wrong.heic', png)).ok).toBe(true);
    expect(await problemOf(Buffer.from('<svg xmlns="http://www.w3.org/2000/svg" width="300" height="300"/>'))).toBe(
      'not-a-photo',
    );
    expect(await problemOf(await picture(200, 200).gif().toBuffer())).toBe('not-a-photo');
  });

  it('says why it cannot open what is empty, cut off, tiny, huge or damaged', async () => {
    const jpeg = await sharp(distinctPixels(250, 240).data, { raw: { width: 250, height: 240, channels: 3 } })
      .jpeg()
      .toBuffer();
    expect(await problemOf(jpeg)).toBe('opened');
    expect(await problemOf(new Uint8Array(0))).toBe('not-a-photo');
    expect(await problemOf(jpeg.subarray(0, 12))).toBe('photo-damaged');
    expect(await problemOf(jpeg.subarray(0, jpeg.length >> 1))).toBe('photo-damaged');
    expect(await problemOf(jpeg.subarray(0, jpeg.length - 2))).toBe('photo-damaged');
    expect(await problemOf(await picture(1, 1).png().toBuffer())).toBe('photo-too-small');
    const png = await picture(300, 300).png().toBuffer();
    expect(await problemOf(png.subarray(0, png.length - 20))).toBe('photo-damaged');
    const webp = await picture(300, 300).webp().toBuffer();
    expect(await problemOf(webp.subarray(0, webp.length - 20))).toBe('photo-damaged');
    const heic = await readFile(new URL('../../../support/photos/quarters.heic', import.meta.url));
    expect(await problemOf(heic.subarray(0, heic.length - 200))).toBe('photo-damaged');
    const scrambled = Buffer.from(heic);
    scrambled.fill(0x55, heic.indexOf('mdat') + 4);
    expect(await problemOf(scrambled)).toBe('photo-damaged');
  });

  it('refuses a small file that claims to be enormous without decoding it', async () => {
    const png = await picture(200, 200).png().toBuffer();
    png.writeUInt32BE(30_000, 16);
    png.writeUInt32BE(30_000, 20);
    png.writeUInt32BE(crc32(png.subarray(12, 29)), 29);
    const began = performance.now();
    expect(await problemOf(png)).toBe('photo-too-large');
    expect(performance.now() - began).toBeLessThan(1000);
  });

  it('opens a photo with bytes after its end, as phones append them', async () => {
    const jpeg = await picture(200, 200).jpeg().toBuffer();
    expect(await problemOf(Buffer.concat([jpeg, Buffer.alloc(5000, 0x42)]))).toBe('opened');
  });

  it('takes nonsense in EXIF for missing', async () => {
    const withFocal = (FocalLengthIn35mmFilm: string, FocalLength: string, DigitalZoomRatio: string, Make: string) =>
      picture(200, 200).withExif({ IFD0: { Make }, IFD2: { FocalLengthIn35mmFilm, FocalLength, DigitalZoomRatio } });
    const good = await opened(await withFocal('26', '57/10', '2/1', ' Invented ').jpeg().toBuffer());
    expect(good.exif).toEqual({
      make: 'Invented',
      model: null,
      focalLength35mm: 26,
      focalLengthMm: 5.7,
      digitalZoomRatio: 2,
      storedSizePx: [200, 200],
    });
    const bad = await opened(await withFocal('0', '0/0', '0/1', '   ').jpeg().toBuffer());
    expect(bad.exif).toEqual({ ...noExif, storedSizePx: [200, 200] });
    expect((await opened(await picture(200, 200).jpeg().toBuffer())).exif).toEqual(noExif);
  });

  it('opens a photo whose EXIF block is garbage', async () => {
    const jpeg = await picture(200, 200)
      .withExif({ IFD0: { Make: 'Invented' } })
      .jpeg()
      .toBuffer();
    const at = jpeg.indexOf('Exif\0\0', 0, 'latin1');
    jpeg.fill(0xee, at + 6, at + 40);
    expect((await opened(jpeg)).exif.make).toBeNull();
  });

  it('stops when the work is called off', async () => {
    const signal = AbortSignal.abort();
    await expect(openPhoto('photo', await picture(200, 200).jpeg().toBuffer(), { signal })).rejects.toMatchObject({
      name: 'AbortError',
    });
  });
});
