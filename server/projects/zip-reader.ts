import type { FileHandle } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { createInflateRaw } from 'node:zlib';
import { crc32 } from './zip-writer.js';

/** One file that an archive says it holds. What it says is not believed: reading stops at `bytes` and checks the CRC. */
export interface ZipEntry {
  readonly name: string;
  /** Size unpacked. */
  readonly bytes: number;
  readonly packedBytes: number;
  readonly method: number;
  readonly crc: number;
  readonly offset: number;
}

/** The archive is not one, is cut off, or says what is not so. */
export class ZipFault extends Error {}

/** End of the directory (22 bytes) and the longest comment that may follow it. */
const endBytes = 22;
const mostCommentBytes = 0xffff;
const mostEntries = 2000;
const mostDirectoryBytes = 2 ** 20;

/** Reads the directory at the end of an archive. Throws ZipFault. */
export async function readZipDirectory(file: FileHandle): Promise<ZipEntry[]> {
  const { size } = await file.stat();
  const tail = await readAt(
    file,
    Math.max(0, size - endBytes - mostCommentBytes),
    Math.min(size, endBytes + mostCommentBytes),
  );
  const at = tail.lastIndexOf('PK\x05\x06', undefined, 'latin1');
  if (at < 0 || at + endBytes > tail.length) throw new ZipFault('it is no ZIP file, or only a part of one');
  const count = tail.readUInt16LE(at + 10);
  const length = tail.readUInt32LE(at + 12);
  const start = tail.readUInt32LE(at + 16);
  if (count > mostEntries || length > mostDirectoryBytes || start + length > size)
    throw new ZipFault('its list of files is damaged');
  const directory = await readAt(file, start, length);
  const entries: ZipEntry[] = [];
  for (let i = 0, p = 0; i < count; i++) {
    if (p + 46 > directory.length || directory.toString('latin1', p, p + 4) !== 'PK\x01\x02')
      throw new ZipFault('its list of files is damaged');
    const nameLength = directory.readUInt16LE(p + 28);
    entries.push({
      name: directory.toString('utf8', p + 46, p + 46 + nameLength),
      method: directory.readUInt16LE(p + 10),
      crc: directory.readUInt32LE(p + 16),
      packedBytes: directory.readUInt32LE(p + 20),
      bytes: directory.readUInt32LE(p + 24),
      offset: directory.readUInt32LE(p + 42),
    });
    p += 46 + nameLength + directory.readUInt16LE(p + 30) + directory.readUInt16LE(p + 32);
  }
  return entries;
}

/** Unpacks one file piece by piece; never more than it says it holds. Throws ZipFault where it is not what it says. */
export async function* readZipEntry(file: FileHandle, entry: ZipEntry): AsyncGenerator<Uint8Array> {
  const head = await readAt(file, entry.offset, 30);
  if (head.toString('latin1', 0, 4) !== 'PK\x03\x04') throw new ZipFault(`${entry.name} is not where it should be`);
  const start = entry.offset + 30 + head.readUInt16LE(26) + head.readUInt16LE(28);
  if (entry.method !== 0 && entry.method !== 8) throw new ZipFault(`${entry.name} is packed in an unknown way`);
  let bytes = 0;
  let crc = 0;
  for await (const chunk of unpacked(file, start, entry)) {
    bytes += chunk.length;
    if (bytes > entry.bytes) throw new ZipFault(`${entry.name} is larger than it says`);
    crc = crc32(chunk, crc);
    yield chunk;
  }
  if (bytes !== entry.bytes || crc !== entry.crc) throw new ZipFault(`${entry.name} is damaged`);
}

async function* unpacked(file: FileHandle, start: number, entry: ZipEntry): AsyncGenerator<Uint8Array> {
  const packed = pieces(file, start, entry.packedBytes);
  if (entry.method === 0) {
    yield* packed;
    return;
  }
  const inflate = createInflateRaw();
  const source = Readable.from(packed);
  source.on('error', (error) => inflate.destroy(error));
  try {
    yield* source.pipe(inflate);
  } catch (error) {
    throw error instanceof ZipFault ? error : new ZipFault(`${entry.name} is damaged`, { cause: error });
  } finally {
    source.destroy();
    inflate.destroy();
  }
}

const pieceBytes = 2 ** 18;

async function* pieces(file: FileHandle, start: number, length: number): AsyncGenerator<Uint8Array> {
  for (let done = 0; done < length; ) {
    const piece = await readAt(file, start + done, Math.min(pieceBytes, length - done));
    done += piece.length;
    yield piece;
  }
}

/** Exactly these bytes; ZipFault where the file ends before. */
async function readAt(file: FileHandle, start: number, length: number): Promise<Buffer> {
  const buffer = Buffer.alloc(length);
  let done = 0;
  while (done < length) {
    const { bytesRead } = await file.read(buffer, done, length - done, start + done);
    if (bytesRead === 0) throw new ZipFault('it is only a part of a ZIP file');
    done += bytesRead;
  }
  return buffer;
}
