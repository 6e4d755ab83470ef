import { mkdir, open, rm } from 'node:fs/promises';
import { dirname } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { partName, writing } from './durable-write.js';

/**
 * Takes in bytes beside the path where they are to be, flushed; the folder is made when it is not there.
 * @param name what the sender calls it, for the sentence
 * @returns where the bytes lie now, and how many; file-too-large when more than `mostBytes` come, upload-broken-off when
 *   the sender stops, cannot-write
 */
export async function receiveFile(
  path: string,
  name: string,
  chunks: AsyncIterable<Uint8Array>,
  mostBytes: number,
): Promise<Result<{ partPath: string; bytes: number }, Problem>> {
  const partPath = partName(path);
  const written = await writing(async (): Promise<Result<number, Problem>> => {
    await mkdir(dirname(path), { recursive: true });
    const file = await open(partPath, 'wx');
    try {
      let bytes = 0;
      for await (const chunk of arriving(chunks)) {
        if (chunk === null) return failed(problem('upload-broken-off', { name }));
        bytes += chunk.length;
        if (bytes > mostBytes) return tooLarge(name, bytes, mostBytes);
        await file.writeFile(chunk);
      }
      await file.sync();
      return ok(bytes);
    } finally {
      await file.close();
    }
  });
  const outcome = written.ok ? written.value : written;
  if (outcome.ok) return ok({ partPath, bytes: outcome.value });
  await rm(partPath, { force: true }).catch(() => undefined);
  return outcome;
}

/** The chunks, then null where the sender broke off: that is no fault of the disk, and must not look like one. */
async function* arriving(chunks: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array | null> {
  const iterator = chunks[Symbol.asyncIterator]();
  for (;;) {
    let next: IteratorResult<Uint8Array>;
    try {
      next = await iterator.next();
    } catch {
      yield null;
      return;
    }
    if (next.done) return;
    yield next.value;
  }
}

function tooLarge(name: string, bytes: number, mostBytes: number): Result<number, Problem> {
  const megabytes = Math.ceil(bytes / 2 ** 20);
  return failed(problem('file-too-large', { name, megabytes, mostMegabytes: Math.floor(mostBytes / 2 ** 20) }));
}
