import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { basename, dirname, resolve } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { problem } from '../contract/problems.js';
import { packTable } from '../projects/pack-table.js';
import { TableStore } from '../projects/table-store.js';
import { done, ended, type Outcome } from './outcome.js';
import { readOptions } from './read-options.js';

/** `gapwright pack`: a table's folder as one ZIP file that the page opens, on this computer or another. */
export async function pack(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, { out: 'one' });
  if (!input.ok) return ended(input.problem);
  const [given, surplus] = input.value.files;
  if (given === undefined || surplus !== undefined)
    return ended(problem('missing-argument', { what: 'the folder of one table' }));
  const out = input.value.one('out');
  if (out === undefined)
    return ended(problem('missing-argument', { what: '--out with a file name that ends in .zip' }));
  const folder = resolve(given);
  const packed = await packTable(new TableStore(dirname(folder)), basename(folder));
  if (!packed.ok) return ended(packed.problem);
  const beside = `${out}.${process.pid}.part`;
  try {
    await pipeline(Readable.from(packed.value.chunks), createWriteStream(beside));
    await rename(beside, out);
    return done();
  } catch (error) {
    await rm(beside, { force: true }).catch(() => undefined);
    return ended(problem('cannot-write', { why: (error as NodeJS.ErrnoException).code ?? String(error) }));
  }
}
