import { constants } from 'node:fs';
import { open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';

let counter = 0;

/** A name beside the final one, of this process alone; what a killed process left is told by its process id. */
export function partName(path: string): string {
  counter += 1;
  return `${path}.${process.pid}-${counter}.part`;
}

/**
 * Writes a file so that at any moment, also when the computer loses power, either the old or the new content is there:
 * written beside, flushed, renamed, and the folder flushed. Throws what the file system reports.
 */
export async function writeDurably(path: string, content: string | Uint8Array): Promise<void> {
  const beside = partName(path);
  try {
    const file = await open(beside, 'wx');
    try {
      await file.writeFile(content);
      await file.sync();
    } finally {
      await file.close();
    }
    await rename(beside, path);
  } catch (error) {
    await rm(beside, { force: true }).catch(() => undefined);
    throw error;
  }
  await flushFolder(dirname(path));
}

/** Flushes what a folder holds, so that a rename in it survives a loss of power; not every system can, or needs to. */
export async function flushFolder(folder: string): Promise<void> {
  try {
    const handle = await open(folder, constants.O_RDONLY);
    await handle.sync().finally(() => handle.close());
  } catch (error) {
    if (!['EISDIR', 'EPERM', 'EINVAL', 'ENOTSUP', 'EACCES'].includes((error as NodeJS.ErrnoException).code ?? ''))
      throw error;
  }
}

/** Removes what killed processes left half-written in a folder and in the folders within it. */
export async function removeLeftParts(folder: string): Promise<void> {
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => []);
  for (const entry of entries) {
    const path = join(folder, entry.name);
    const maker = /\.(\d+)-\d+\.part$/.exec(entry.name)?.[1];
    if (maker !== undefined && !isAlive(Number(maker))) await rm(path, { recursive: true, force: true });
    else if (entry.isDirectory()) await removeLeftParts(path);
  }
}

/** Whether a process with this id runs on this computer. */
export function isAlive(processId: number): boolean {
  try {
    process.kill(processId, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

const reasons: Readonly<Record<string, string>> = {
  ENOSPC: 'the disk is full',
  EDQUOT: 'the share of the disk is used up',
  EROFS: 'the disk is read-only',
  EACCES: 'there is no permission to write there',
  EPERM: 'there is no permission to write there',
  EMFILE: 'too many files are open',
  EIO: 'the disk reports an error',
  ENOTDIR: 'a file is where the folder should be',
  ENOENT: 'the folder is gone',
};

/** Runs work that writes; what the disk or its permissions cause becomes the problem cannot-write, the rest is thrown. */
export async function writing<T>(work: () => Promise<T>): Promise<Result<T, Problem>> {
  try {
    return ok(await work());
  } catch (error) {
    const why = reasons[(error as NodeJS.ErrnoException).code ?? ''];
    if (why === undefined) throw error;
    return failed(problem('cannot-write', { why }));
  }
}
