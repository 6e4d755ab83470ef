// npx and a shell stay between the caller and this program. When npx is killed without passing that on, nobody waits for
// this program any more, and it ends too. A thread looks, since the program itself may be busy for seconds on end.
import { readFileSync } from 'node:fs';
import { isMainThread, Worker, workerData } from 'node:worker_threads';

/** The process above this one and the one above that, which only Linux tells (proc(5)): npx, or its shell and npx. */
function ancestors() {
  return `${process.ppid} ${parentOf(process.ppid)}`;
}

function parentOf(processId) {
  try {
    // The name in parentheses may hold spaces; the parent is the second field after it.
    return readFileSync(`/proc/${processId}/stat`, 'utf8').split(') ')[1]?.split(' ')[1];
  } catch {
    return undefined;
  }
}

/** Ends this process within half a second after npx, which started it, is gone. Does nothing for any other caller. */
export function endWithCaller() {
  if (process.env.npm_command !== 'exec') return;
  new Worker(new URL(import.meta.url), { workerData: { endWithCaller: ancestors() } }).unref();
}

if (!isMainThread && workerData?.endWithCaller) {
  setInterval(() => {
    if (ancestors() !== workerData.endWithCaller) process.kill(process.pid, 'SIGKILL');
  }, 400);
}
