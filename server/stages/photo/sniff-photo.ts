export type PhotoFormat = 'jpeg' | 'png' | 'webp' | 'heic';

/** Brands of HEIF files that hold HEVC pictures, or may hold them (ISO/IEC 23008-12, annex B and clause 10). */
const heicBrands = new Set(['heic', 'heix', 'heim', 'heis', 'hevc', 'hevx', 'mif1', 'msf1']);

/** What a file holds, judged by its first bytes and never by its name; null when it is no photo that can be opened. */
export function sniffPhoto(bytes: Uint8Array): PhotoFormat | null {
  if (bytes.length < 12) return null;
  if (bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff) return 'jpeg';
  if (latin(bytes, 0, 8) === '\x89PNG\r\n\x1a\n') return 'png';
  if (latin(bytes, 0, 4) === 'RIFF' && latin(bytes, 8, 12) === 'WEBP') return 'webp';
  if (latin(bytes, 4, 8) === 'ftyp' && isHeic(bytes)) return 'heic';
  return null;
}

function isHeic(bytes: Uint8Array): boolean {
  if (latin(bytes, 8, 12).startsWith('avi')) return false;
  const end = Math.min(bytes.length, new DataView(bytes.buffer, bytes.byteOffset).getUint32(0), 256);
  if (heicBrands.has(latin(bytes, 8, 12))) return true;
  for (let at = 16; at + 4 <= end; at += 4) {
    if (heicBrands.has(latin(bytes, at, at + 4))) return true;
  }
  return false;
}

function latin(bytes: Uint8Array, from: number, to: number): string {
  return String.fromCharCode(...bytes.subarray(from, to));
}
