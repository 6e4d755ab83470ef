import ExifReader from 'exifreader';
import { type ExifOrientation, exifOrientationFrom } from '../../images/turn-raster.js';
import type { PhotoExif } from '../../scene/photo.js';

/** What a photo's EXIF block says; nonsense becomes null, and a missing or malformed block is all null and upright. */
export interface ExifFacts {
  readonly exif: PhotoExif;
  /** Tag 0x0112 as stored; 1 when missing. */
  readonly orientation: ExifOrientation;
}

/** Ranges outside which a value is taken for nonsense (common practice, no source): macro to telescope. */
const focal35Range = [5, 1000] as const;
const focalMmRange = [0.3, 1000] as const;
const zoomRange = [1, 100] as const;
const sizeRange = [16, 100_000] as const;

/** Reads the few EXIF tags that concern the camera from the bytes of a JPEG, PNG, WebP or HEIC file. */
export function readExif(bytes: Uint8Array): ExifFacts {
  const tags = loadTags(bytes);
  return {
    exif: {
      make: text(tags['Make']),
      model: text(tags['Model']),
      focalLength35mm: numberIn(tags['FocalLengthIn35mmFilm'], focal35Range),
      focalLengthMm: numberIn(tags['FocalLength'], focalMmRange),
      digitalZoomRatio: numberIn(tags['DigitalZoomRatio'], zoomRange),
      storedSizePx: sizeIn(tags['PixelXDimension'], tags['PixelYDimension']),
    },
    orientation: exifOrientationFrom(tags['Orientation']?.value),
  };
}

type Tags = Readonly<Record<string, { readonly value?: unknown } | undefined>>;

function loadTags(bytes: Uint8Array): Tags {
  try {
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    const tags = ExifReader.loadView(view, { expanded: true });
    return (tags.exif ?? {}) as Tags;
  } catch {
    // A block that cannot be read is worth as much as none: the photo itself may be sound.
    return {};
  }
}

function text(tag: { readonly value?: unknown } | undefined): string | null {
  const raw = Array.isArray(tag?.value) ? tag.value[0] : tag?.value;
  if (typeof raw !== 'string') return null;
  const clean = raw
    .replace(/\p{Cc}/gu, ' ')
    .trim()
    .slice(0, 80);
  return clean === '' ? null : clean;
}

function sizeIn(x: { readonly value?: unknown } | undefined, y: typeof x): [number, number] | null {
  const [width, height] = [numberIn(x, sizeRange), numberIn(y, sizeRange)];
  return width === null || height === null ? null : [width, height];
}

function numberIn(tag: { readonly value?: unknown } | undefined, range: readonly [number, number]): number | null {
  const raw = tag?.value;
  const isRational = Array.isArray(raw) && raw.length === 2 && raw.every((part) => typeof part === 'number');
  const value = isRational ? raw[0] / raw[1] : raw;
  return typeof value === 'number' && value >= range[0] && value <= range[1] ? value : null;
}
