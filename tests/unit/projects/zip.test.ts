import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { open } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { readZipDirectory, readZipEntry, ZipFault } from '../../../server/projects/zip-reader.js';
import { crc32, type ZipSource, zipArchive } from '../../../server/projects/zip-writer.js';
import { seededRandom } from '../../support/seeded-random.js';

const folder = mkdtempSync(join(tmpdir(), 'gapwright-zip-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const hasPython = spawnSync('/usr/bin/python3', ['-V']).status === 0;

const source = (name: string, content: Uint8Array): ZipSource => ({
  name,
  bytes: content.length,
  read: async function* () {
    for (let at = 0; at < content.length; at += 1000) yield content.subarray(at, at + 1000);
  },
});

const random = seededRandom(5);
const photo = Uint8Array.from({ length: 40_000 }, () => Math.floor(256 * random()));
const text = Buffer.from(JSON.stringify({ name: 'Tåble', list: Array.from({ length: 500 }, (_, i) => i % 7) }));
const date = new Date(2026, 10, 25, 16, 30, 8);

async function archive(): Promise<Buffer> {
  const chunks: Uint8Array[] = [];
  const sources = [
    source('t/table.json', text),
    source('t/photos/ä-1.jpeg', photo),
    source('t/empty.txt', new Uint8Array(0)),
  ];
  for await (const chunk of zipArchive(sources, date)) chunks.push(chunk);
  return Buffer.concat(chunks);
}

/** All files of an archive as our reader sees them, in the order of its directory. */
async function readAll(bytes: Uint8Array): Promise<[string, Buffer][]> {
  const path = join(folder, 'read.zip');
  writeFileSync(path, bytes);
  const file = await open(path);
  try {
    const found: [string, Buffer][] = [];
    for (const entry of await readZipDirectory(file)) {
      const chunks: Uint8Array[] = [];
      for await (const chunk of readZipEntry(file, entry)) chunks.push(chunk);
      found.push([entry.name, Buffer.concat(chunks)]);
    }
    return found;
  } finally {
    await file.close();
  }
}

describe('ZIP archives', () => {
  it('have the CRC that ISO 3309 gives for “123456789”: cbf43926', () => {
    expect(crc32(Buffer.from('123456789')).toString(16)).toBe('cbf43926');
    expect(crc32(Buffer.from('6789'), crc32(Buffer.from('12345')))).toBe(0xcbf43926);
  });

  it('come back as they were put in, texts compressed', async () => {
    const bytes = await archive();
    expect(bytes.length).toBeLessThan(photo.length + text.length);
    const back = await readAll(bytes);
    expect(back.map(([name]) => name)).toEqual(['t/table.json', 't/photos/ä-1.jpeg', 't/empty.txt']);
    expect(back[0][1].equals(text)).toBe(true);
    expect(back[1][1].equals(Buffer.from(photo))).toBe(true);
    expect(back[2][1].length).toBe(0);
    expect((await archive()).equals(bytes)).toBe(true);
  });

  it.skipIf(!hasPython)('are read by Python’s zipfile, names, dates and contents', async () => {
    const path = join(folder, 'theirs.zip');
    writeFileSync(path, await archive());
    const program =
      'import json, sys, zipfile\nz = zipfile.ZipFile(sys.argv[1])\n' +
      'print(json.dumps([z.testzip(), [[i.filename, i.file_size, list(i.date_time)] for i in z.infolist()]]))';
    const run = spawnSync('/usr/bin/python3', ['-c', program, path], { encoding: 'utf8' });
    const when = [2026, 11, 25, 16, 30, 8];
    expect(JSON.parse(run.stdout)).toEqual([
      null,
      [
        ['t/table.json', text.length, when],
        ['t/photos/ä-1.jpeg', photo.length, when],
        ['t/empty.txt', 0, when],
      ],
    ]);
  });

  it.skipIf(!hasPython)('that Python made are read, compressed photos too', async () => {
    const path = join(folder, 'made.zip');
    const program =
      'import sys, zipfile\nz = zipfile.ZipFile(sys.argv[1], "w", zipfile.ZIP_DEFLATED)\n' +
      'z.writestr("a/one.txt", "one " * 3000)\nz.writestr("two.bin", bytes(range(256)) * 100)\nz.close()';
    spawnSync('/usr/bin/python3', ['-c', program, path]);
    const back = await readAll(readFileSync(path));
    expect(back.map(([name, content]) => [name, content.length])).toEqual([
      ['a/one.txt', 12_000],
      ['two.bin', 25_600],
    ]);
  });

  it('that are cut off, changed or no archive end in a fault or in what was put in, never in anything else', async () => {
    const whole = await archive();
    const known = await readAll(whole);
    let faults = 0;
    for (let i = 0; i < 300; i++) {
      const bytes = Buffer.from(whole);
      const cut = random() < 0.3 ? bytes.subarray(0, Math.floor(random() * bytes.length)) : bytes;
      if (cut === bytes)
        for (let k = 0; k < 3; k++) bytes[Math.floor(random() * bytes.length)] ^= 1 << Math.floor(8 * random());
      try {
        for (const [name, content] of await readAll(cut)) {
          const original = known.find(([, c]) => c.equals(content));
          expect(original, `${i}: ${name}`).toBeDefined();
        }
      } catch (error) {
        expect(error, String((error as Error).stack)).toBeInstanceOf(ZipFault);
        faults++;
      }
    }
    expect(faults).toBeGreaterThan(200);
  });

  it('that unpack to more than they say are stopped', async () => {
    const chunks: Uint8Array[] = [];
    for await (const chunk of zipArchive([source('bomb.txt', new Uint8Array(2_000_000))], date)) chunks.push(chunk);
    const bytes = Buffer.concat(chunks);
    const directory = bytes.lastIndexOf('PK\x01\x02', undefined, 'latin1');
    bytes.writeUInt32LE(1000, directory + 24);
    await expect(readAll(bytes)).rejects.toThrow(/larger than it says/);
  });
});
