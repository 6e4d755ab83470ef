import type { PhotoFormat } from './sniff-photo.js';

/**
 * Whether a file reaches its own end mark, without decoding it: a copy that broke off does not. JPEG must reach its
 * end-of-image marker (ITU-T T.81 B.1.1), PNG its IEND chunk, WebP and HEIC the length that they state. Bytes after the
 * end are allowed: phones append video clips there.
 */
export function isWholeFile(format: PhotoFormat, bytes: Uint8Array): boolean {
  switch (format) {
    case 'jpeg':
      return isWholeJpeg(bytes);
    case 'png':
      return isWholePng(bytes);
    case 'webp':
      return bytes.length >= viewOf(bytes).getUint32(4, true) + 8;
    case 'heic':
      return isWholeHeic(bytes);
  }
}

function isWholeJpeg(bytes: Uint8Array): boolean {
  let at = 2;
  while (at + 3 < bytes.length) {
    if (bytes[at] !== 0xff) {
      at++;
      continue;
    }
    const marker = bytes[at + 1];
    if (marker === 0xd9) return true;
    if (marker === 0xff) at += 1;
    else if (marker === 0 || (marker >= 0xd0 && marker <= 0xd8)) at += 2;
    else if (marker === 0xda) at = endOfScan(bytes, at + 2 + (bytes[at + 2] << 8) + bytes[at + 3]);
    else at += 2 + (bytes[at + 2] << 8) + bytes[at + 3];
  }
  return at + 1 < bytes.length && bytes[at] === 0xff && bytes[at + 1] === 0xd9;
}

/** Place of the next marker that is neither a stuffed zero nor a restart. */
function endOfScan(bytes: Uint8Array, from: number): number {
  let at = bytes.indexOf(0xff, from);
  while (at >= 0 && at + 1 < bytes.length) {
    const next = bytes[at + 1];
    if (next !== 0 && next !== 0xff && !(next >= 0xd0 && next <= 0xd7)) return at;
    at = bytes.indexOf(0xff, at + (next === 0xff ? 1 : 2));
  }
  return bytes.length;
}

function isWholePng(bytes: Uint8Array): boolean {
  const view = viewOf(bytes);
  for (let at = 8; at + 12 <= bytes.length; ) {
    const length = view.getUint32(at);
    if (view.getUint32(at + 4) === 0x49454e44) return true;
    at += 12 + length;
  }
  return false;
}

function isWholeHeic(bytes: Uint8Array): boolean {
  const view = viewOf(bytes);
  let at = 0;
  let sawData = false;
  while (at + 8 <= bytes.length) {
    let length = view.getUint32(at);
    if (view.getUint32(at + 4) === 0x6d646174) sawData = true;
    if (length === 1 && at + 16 <= bytes.length) length = Number(view.getBigUint64(at + 8));
    if (length === 0) return sawData;
    if (length < 8) return sawData;
    if (at + length > bytes.length) return false;
    at += length;
  }
  return sawData;
}

function viewOf(bytes: Uint8Array): DataView {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}
