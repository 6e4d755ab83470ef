import { open, readFile, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { isAlive, partName } from './durable-write.js';

/** A lock older than this belongs to nobody: what is done under it takes milliseconds, seconds on a slow disk. */
const abandonedMs = 60_000;

const queues = new Map<string, Promise<unknown>>();

/**
 * Runs one piece of work at a time on a table's folder: within this process in the order of asking, and between
 * processes by a lock file, which is taken over when its process is gone.
 * @param folder the table's folder
 */
export function withTableLock<T>(folder: string, work: () => Promise<T>): Promise<T> {
  const before = queues.get(folder) ?? Promise.resolve();
  const mine = before.then(
    () => lockedOnDisk(folder, work),
    () => lockedOnDisk(folder, work),
  );
  queues.set(folder, mine);
  const forget = (): void => {
    if (queues.get(folder) === mine) queues.delete(folder);
  };
  mine.then(forget, forget);
  return mine;
}

async function lockedOnDisk<T>(folder: string, work: () => Promise<T>): Promise<T> {
  const lock = join(folder, 'in-use');
  for (;;) {
    try {
      const file = await open(lock, 'wx');
      await file.writeFile(String(process.pid)).finally(() => file.close());
      break;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    }
    if (await isAbandoned(lock)) await takeAway(lock);
    else await new Promise((resume) => setTimeout(resume, 15));
  }
  try {
    return await work();
  } finally {
    await rm(lock, { force: true }).catch(() => undefined);
  }
}

async function isAbandoned(lock: string): Promise<boolean> {
  try {
    const [holder, { mtimeMs }] = [Number(await readFile(lock, 'utf8')), await stat(lock)];
    const ageMs = Date.now() - mtimeMs;
    if (ageMs > abandonedMs) return true;
    // A lock of this very process is from a run before that had the same id: within it the queue lets one in at a time.
    return holder > 0 ? holder === process.pid || !isAlive(holder) : ageMs > 2000;
  } catch {
    return false;
  }
}

/** Renamed first: of two that find the same abandoned lock, only one can. */
async function takeAway(lock: string): Promise<void> {
  const aside = partName(lock);
  try {
    await rename(lock, aside);
  } catch {
    return;
  }
  await rm(aside, { force: true });
}
