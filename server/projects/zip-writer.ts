import { deflateRawSync } from 'node:zlib';

/** One file of an archive. It is read twice, so it must not change meanwhile. */
export interface ZipSource {
  /** Path within the archive, with slashes. */
  readonly name: string;
  readonly bytes: number;
  read(): AsyncIterable<Uint8Array>;
}

/** The format counts bytes and places in 32 bits (APPNOTE 6.3.10, section 4.3); so does this writer. */
export const mostZipBytes = 0xffffffff;

const crcTable = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

/** Goes on with a CRC-32 (ISO 3309) over more bytes; begin with 0. */
export function crc32(bytes: Uint8Array, before = 0): number {
  let c = ~before >>> 0;
  for (let i = 0; i < bytes.length; i++) c = crcTable[(c ^ bytes[i]) & 0xff] ^ (c >>> 8);
  return ~c >>> 0;
}

/** A file that was written, as the directory at the end lists it. */
interface Written {
  readonly head: Buffer;
  readonly name: Buffer;
  readonly offset: number;
}

/** Texts up to this size are compressed; photos are already. */
const mostDeflatedBytes = 16 * 2 ** 20;

/**
 * Writes a ZIP archive (APPNOTE.TXT 6.3.10): photos as they are, small texts compressed, names in UTF-8. The same
 * sources and date give the same bytes.
 */
export async function* zipArchive(sources: readonly ZipSource[], date: Date): AsyncGenerator<Uint8Array> {
  const written: Written[] = [];
  let offset = 0;
  for (const source of sources) {
    const name = Buffer.from(source.name, 'utf8');
    const packed = await packedText(source);
    const crc = packed?.crc ?? (await crcOf(source));
    const bytes = packed?.bytes.length ?? source.bytes;
    const head = headOf({ method: packed ? 8 : 0, crc, packed: bytes, whole: source.bytes, name, date });
    yield Buffer.concat([Buffer.from('PK\x03\x04', 'latin1'), head, name]);
    written.push({ head, name, offset });
    offset += 4 + head.length + name.length + bytes;
    if (packed) yield packed.bytes;
    else yield* source.read();
  }
  const directory = Buffer.concat(written.map(listed));
  const end = Buffer.alloc(22);
  end.write('PK\x05\x06', 'latin1');
  end.writeUInt16LE(written.length, 8);
  end.writeUInt16LE(written.length, 10);
  end.writeUInt32LE(directory.length, 12);
  end.writeUInt32LE(offset, 16);
  yield Buffer.concat([directory, end]);
}

async function packedText(source: ZipSource): Promise<{ bytes: Buffer; crc: number } | null> {
  if (!/\.(json|txt|csv|svg)$/.test(source.name) || source.bytes > mostDeflatedBytes) return null;
  const chunks: Uint8Array[] = [];
  for await (const chunk of source.read()) chunks.push(chunk);
  const whole = Buffer.concat(chunks);
  return { bytes: deflateRawSync(whole), crc: crc32(whole) };
}

async function crcOf(source: ZipSource): Promise<number> {
  let crc = 0;
  for await (const chunk of source.read()) crc = crc32(chunk, crc);
  return crc;
}

interface Head {
  readonly method: 0 | 8;
  readonly crc: number;
  readonly packed: number;
  readonly whole: number;
  readonly name: Buffer;
  readonly date: Date;
}

/** What stands before a file and again in the directory: version, flags (UTF-8), method, time, CRC, sizes, lengths. */
function headOf({ method, crc, packed, whole, name, date }: Head): Buffer {
  const head = Buffer.alloc(26);
  head.writeUInt16LE(20, 0);
  head.writeUInt16LE(0x0800, 2);
  head.writeUInt16LE(method, 4);
  head.writeUInt16LE((date.getHours() << 11) | (date.getMinutes() << 5) | (date.getSeconds() >> 1), 6);
  const year = Math.max(0, Math.min(127, date.getFullYear() - 1980));
  head.writeUInt16LE((year << 9) | ((date.getMonth() + 1) << 5) | date.getDate(), 8);
  head.writeUInt32LE(crc, 10);
  head.writeUInt32LE(packed, 14);
  head.writeUInt32LE(whole, 18);
  head.writeUInt16LE(name.length, 22);
  return head;
}

function listed({ head, name, offset }: Written): Buffer {
  const more = Buffer.alloc(14);
  more.writeUInt32LE(offset, 10);
  return Buffer.concat([Buffer.from('PK\x01\x02', 'latin1'), Buffer.from([20, 0]), head, more, name]);
}
