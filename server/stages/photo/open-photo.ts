import { throwIfCancelled } from '../../base/cancel.js';
import { failed, ok, type Result } from '../../base/result.js';
import { type Problem, problem } from '../../contract/problems.js';
import type { Raster } from '../../images/raster.js';
import { pictureCodec } from '../../images/sharp-codec.js';
import { type ExifOrientation, turnRaster } from '../../images/turn-raster.js';
import type { Photo } from '../../scene/photo.js';
import { decodeHeic } from './decode-heic.js';
import { defaultPhotoLimits, describePhoto, type PhotoLimits } from './describe-photo.js';
import { readHeicContainer } from './heic-container.js';
import { readExif } from './read-exif.js';

export interface OpenPhotoOptions extends PhotoLimits {
  readonly signal?: AbortSignal;
}

/**
 * Opens a photo file: JPEG, PNG, WebP or HEIC, told apart by content. The picture that comes out is upright, 8-bit sRGB
 * in three channels, transparent parts on white, the first picture of an animation. Nothing after this stage knows of
 * orientation. A HEIC file may state its turn in the container and again in EXIF: the container counts, EXIF only when
 * the container is silent.
 *
 * Problems: not-a-photo, photo-damaged, photo-too-small, photo-too-large.
 *
 *     const opened = await openPhoto('IMG_1.jpg', await readFile(path));
 *     if (!opened.ok) return opened;
 *     const { raster, exif } = opened.value;
 *
 * @param name as the user knows the file, without folders
 */
export async function openPhoto(
  name: string,
  bytes: Uint8Array,
  options: Partial<OpenPhotoOptions> = {},
): Promise<Result<Photo, Problem>> {
  const { signal } = options;
  throwIfCancelled(signal);
  const described = await describePhoto(name, bytes, { ...defaultPhotoLimits, ...options });
  if (!described.ok) return described;
  // The codec works in threads of its own meanwhile.
  const decoding = described.value.format === 'heic' ? null : uprightFromCodec(bytes);
  const { exif, orientation } = readExif(bytes);
  const raster = decoding ? await decoding : await uprightFromHeic(bytes, orientation, signal);
  throwIfCancelled(signal);
  if (raster === null) return failed(problem('photo-damaged', { name }));
  return ok({ name, raster, exif });
}

async function uprightFromHeic(bytes: Uint8Array, orientation: ExifOrientation, signal?: AbortSignal) {
  const decoded = await decodeHeic(bytes, signal);
  if (decoded === null) return null;
  return readHeicContainer(bytes)?.turns ? decoded : turnRaster(decoded, orientation);
}

async function uprightFromCodec(bytes: Uint8Array): Promise<Raster | null> {
  const strict = await decodeWithCodec(bytes, 'warning');
  if (strict.raster !== null) return strict.raster;
  // Many sound files carry something to warn of (a strange colour profile, stray bytes); broken picture data is not that.
  if (/premature|corrupt|truncat|invalid|bad/i.test(strict.why) && !/extraneous bytes|profile|SOS/i.test(strict.why))
    return null;
  return (await decodeWithCodec(bytes, 'truncated')).raster;
}

async function decodeWithCodec(bytes: Uint8Array, failOn: 'warning' | 'truncated') {
  try {
    // The size was checked before, against limits of our own.
    const { data, info } = await pictureCodec(bytes, { failOn, limitInputPixels: false })
      .autoOrient()
      .toColourspace('srgb')
      .flatten({ background: '#ffffff' })
      .raw({ depth: 'uchar' })
      .toBuffer({ resolveWithObject: true });
    return { raster: rgbRaster(data, info.width, info.height, info.channels), why: '' };
  } catch (error) {
    return { raster: null, why: error instanceof Error ? error.message : String(error) };
  }
}

function rgbRaster(data: Buffer, widthPx: number, heightPx: number, channels: number): Raster {
  const pixels = new Uint8Array(data.buffer, data.byteOffset, data.length);
  if (channels === 3) return { widthPx, heightPx, channels: 3, data: pixels };
  const rgb = new Uint8Array(widthPx * heightPx * 3);
  for (let i = 0; i < widthPx * heightPx; i++) rgb.fill(pixels[i * channels], i * 3, i * 3 + 3);
  return { widthPx, heightPx, channels: 3, data: rgb };
}
