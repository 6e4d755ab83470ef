import { readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { basename } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';

/** Greatest file that a command reads, bytes: a photo of 100 Mpx stored without loss is smaller. */
const mostBytes = 400 * 1024 * 1024;

/** Reads a file named on the command line. @returns its bytes, or file-not-found or file-too-large */
export async function readNamedFile(path: string): Promise<Result<Uint8Array, Problem>> {
  try {
    const { size } = await stat(path);
    if (size > mostBytes) {
      const megabytes = Math.ceil(size / 2 ** 20);
      return failed(
        problem('file-too-large', { name: basename(path), megabytes, mostMegabytes: Math.floor(mostBytes / 2 ** 20) }),
      );
    }
    return ok(await readFile(path));
  } catch {
    return failed(problem('file-not-found', { name: path }));
  }
}

/** Reads a JSON file named on the command line. @returns the value, or file-not-found, file-too-large or not-json */
export async function readNamedJson(path: string): Promise<Result<unknown, Problem>> {
  const bytes = await readNamedFile(path);
  if (!bytes.ok) return bytes;
  try {
    return ok(
      JSON.parse(
        Buffer.from(bytes.value)
          .toString('utf8')
          .replace(/^\uFEFF/, ''),
      ),
    );
  } catch {
    return failed(problem('not-json', { name: basename(path) }));
  }
}

/** Writes a file whole or not at all: beside it first, then renamed. @returns nothing, or cannot-write */
export async function writeNamedFile(path: string, content: string | Uint8Array): Promise<Result<void, Problem>> {
  const beside = `${path}.${process.pid}.part`;
  try {
    await writeFile(beside, content);
    await rename(beside, path);
    return ok(undefined);
  } catch (error) {
    await rm(beside, { force: true }).catch(() => undefined);
    return failed(problem('cannot-write', { why: (error as NodeJS.ErrnoException).code ?? String(error) }));
  }
}
