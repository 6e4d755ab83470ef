import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';

/** Best score and its direction for each plan pixel. */
export interface ScoredPlan {
  readonly score: Float32Array;
  readonly direction: Uint8Array;
}

/** Turns of a picture that two threads share: each takes the next one that is left. */
export interface SharedTurns {
  /** The next turn for this thread; null when none is left. */
  next(): number | null;
  /**
   * Waits for the other thread, and takes over what it scored better.
   * @returns false when it fails or does not answer; what it had taken is then still to be done
   */
  mergeInto(mine: ScoredPlan): boolean;
  /** Turns that this thread did not take. */
  missing(): number[];
  /** To be called in any case. */
  end(): void;
}

/** For fewer pixels a thread is not worth its start, 30 ms; with more, the memory of two would be too much. */
const leastPixels = 4e5;
const mostPixels = 1e7;

/** The other thread does one turn after this one has none left: it answers soon, or never. */
const patienceMs = 30_000;

/** Places in the state that both threads see: the next turn that is left, and 1 when the other thread is done, 2 when it failed. */
const nextTurn = 0;
const finished = 1;

/**
 * Plain JavaScript that needs no file: it runs alike from the sources and from what is built. Nothing is known in it but
 * `workerData`.
 */
const threadCode = `
const { workerData: w } = require('node:worker_threads');
let ended = 2;
try {
  const run = new WebAssembly.Instance(w.module).exports;
  const at = run.prepare(...w.settings);
  new Float32Array(run.memory.buffer, at, w.grey.length).set(w.grey);
  run.findSides();
  for (;;) {
    const k = Atomics.add(w.state, ${nextTurn}, 1);
    if (k >= w.turns.length) break;
    run.scoreDirections(k, k + w.turns.length, Math.cos(w.turns[k]), Math.sin(w.turns[k]));
  }
  w.score.set(new Float32Array(run.memory.buffer, run.scoreAt(), w.score.length));
  w.direction.set(new Uint8Array(run.memory.buffer, run.directionAt(), w.direction.length));
  ended = 1;
} finally {
  Atomics.store(w.state, ${finished}, ended);
  Atomics.notify(w.state, ${finished});
}
`;

/**
 * Shares turns with a second thread where there is a second processor and the picture is neither small nor very large;
 * else all are this thread's. Who takes which turn makes no difference to the result.
 * @param settings what the kernel's `prepare` takes
 */
export function shareTurns(
  module: object,
  settings: readonly number[],
  grey: Float32Array,
  turns: readonly number[],
): SharedTurns {
  const state = new Int32Array(new SharedArrayBuffer(8));
  const taken: number[] = [];
  const missing = (): number[] => [...turns.keys()].filter((k) => !taken.includes(k));
  const next = (): number | null => {
    const k = Atomics.add(state, nextTurn, 1);
    if (k >= turns.length) return null;
    taken.push(k);
    return k;
  };
  if (grey.length < leastPixels || grey.length > mostPixels || availableParallelism() < 2)
    return { next, missing, mergeInto: () => true, end: () => {} };
  const theirs = {
    score: new Float32Array(new SharedArrayBuffer(4 * grey.length)),
    direction: new Uint8Array(new SharedArrayBuffer(grey.length)),
  };
  const isShared = grey.buffer instanceof SharedArrayBuffer;
  const seen = isShared ? grey : new Float32Array(new SharedArrayBuffer(4 * grey.length));
  if (!isShared) seen.set(grey);
  const workerData = { module, settings, turns, state, grey: seen, ...theirs };
  const thread = new Worker(threadCode, { eval: true, workerData, execArgv: [] });
  thread.unref();
  // A thread that cannot start takes no turn.
  thread.on('error', () => {});
  return {
    next,
    missing,
    mergeInto: (mine) => {
      if (missing().length === 0) return true;
      Atomics.wait(state, finished, 0, patienceMs);
      if (Atomics.load(state, finished) !== 1) return false;
      takeBetter(mine, theirs);
      return true;
    },
    end: () => {
      Atomics.store(state, nextTurn, turns.length);
      void thread.terminate();
    },
  };
}

/** Of equal scores the first direction's counts. */
function takeBetter(mine: ScoredPlan, theirs: ScoredPlan): void {
  for (let i = 0; i < mine.score.length; i++) {
    const value = theirs.score[i];
    if (value < mine.score[i] || value === 0) continue;
    if (value === mine.score[i] && theirs.direction[i] > mine.direction[i]) continue;
    mine.score[i] = value;
    mine.direction[i] = theirs.direction[i];
  }
}
