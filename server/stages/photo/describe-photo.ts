import { failed, ok, type Result } from '../../base/result.js';
import { type Problem, problem } from '../../contract/problems.js';
import { pictureCodec } from '../../images/sharp-codec.js';
import { exifOrientationFrom, swapsSides } from '../../images/turn-raster.js';
import { readHeicContainer } from './heic-container.js';
import { readExif } from './read-exif.js';
import { type PhotoFormat, sniffPhoto } from './sniff-photo.js';
import { isWholeFile } from './whole-file.js';

export interface PhotoLimits {
  /** Shorter side, px: on less no marker can be read (a marker of 16 px needs some table around it). */
  readonly leastSidePx: number;
  /** Largest picture, megapixels: a decoded one takes 3 bytes a pixel. */
  readonly mostMegapixels: number;
}

export const defaultPhotoLimits: PhotoLimits = { leastSidePx: 160, mostMegapixels: 100 };

export interface PhotoDescription {
  readonly format: PhotoFormat;
  /** Size of the upright picture. */
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * What a file holds, from its headers alone (a few milliseconds): for checking an upload before it is stored. A file
 * that passes can still turn out damaged when it is decoded.
 *
 * Problems: not-a-photo, photo-damaged, photo-too-small, photo-too-large.
 * @param name as the user knows the file, for the problem's sentence
 */
export async function describePhoto(
  name: string,
  bytes: Uint8Array,
  limits: PhotoLimits = defaultPhotoLimits,
): Promise<Result<PhotoDescription, Problem>> {
  const format = sniffPhoto(bytes);
  if (format === null) return failed(problem('not-a-photo', { name }));
  const size = format === 'heic' ? heicSize(bytes) : await codecSize(bytes);
  if (size === null) return failed(problem('photo-damaged', { name }));
  const { widthPx, heightPx } = size;
  const megapixels = (widthPx * heightPx) / 1e6;
  const { leastSidePx, mostMegapixels } = limits;
  if (megapixels > mostMegapixels)
    return failed(problem('photo-too-large', { name, megapixels: Math.round(megapixels), mostMegapixels }));
  if (Math.min(widthPx, heightPx) < leastSidePx)
    return failed(problem('photo-too-small', { name, widthPx, heightPx, leastPx: leastSidePx }));
  if (!isWholeFile(format, bytes)) return failed(problem('photo-damaged', { name }));
  return ok({ format, widthPx, heightPx });
}

async function codecSize(bytes: Uint8Array): Promise<{ widthPx: number; heightPx: number } | null> {
  try {
    const { width, height, orientation } = await pictureCodec(bytes, { limitInputPixels: false }).metadata();
    const lying = swapsSides(exifOrientationFrom(orientation));
    return { widthPx: lying ? height : width, heightPx: lying ? width : height };
  } catch {
    return null;
  }
}

function heicSize(bytes: Uint8Array): { widthPx: number; heightPx: number } | null {
  const container = readHeicContainer(bytes);
  if (container === null) return null;
  const { widthPx, heightPx, turns } = container;
  const lying = !turns && swapsSides(readExif(bytes).orientation);
  return { widthPx: lying ? heightPx : widthPx, heightPx: lying ? widthPx : heightPx };
}
