import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { SharedMemory } from '../../images/load-kernel.js';

/** What the second thread is asked to do, in the order in which its program takes them. */
export interface SecondTask {
  /** Number of the task, 1…; each is asked for once, in rising order. */
  readonly task: number;
  /** Turns of the whole task. */
  readonly turns: number;
  /** Where the wishes are; 0 where everything is to be scored. */
  readonly wantedAt: number;
  /** What the kernel's `prepare` takes. */
  readonly settings: readonly number[];
}

/** Where the second thread put its scores and their directions, in the memory shared. */
export interface SecondScores {
  readonly scoreAt: number;
  readonly directionAt: number;
}

/** Numbers that a task may have. */
const taskSize = 32;
const mostTasks = 8;

/** The other thread does one turn after this one has none left: it answers soon, or never. */
const patienceMs = 30_000;

/** Places in the state that both threads see: the task asked for, negative at the end; and the task done, −1 on failure. */
const asked = 0;
const done = 1;

/**
 * Plain JavaScript that needs no file: it runs alike from the sources and from what is built. Nothing is known in it but
 * `workerData`.
 */
const threadCode = `
const { workerData: w } = require('node:worker_threads');
try {
  const run = new WebAssembly.Instance(w.module, { env: { memory: w.memory } }).exports;
  for (let last = 0; ; ) {
    Atomics.wait(w.state, ${asked}, last);
    last = Atomics.load(w.state, ${asked});
    if (last < 0) break;
    const numbers = w.numbers.subarray(last * ${taskSize}, (last + 1) * ${taskSize});
    const [count, turns, wantedAt] = numbers;
    run.prepare(...numbers.subarray(3, 3 + count));
    if (wantedAt !== 0) {
      run.prepareWanted(wantedAt);
      run.findWanted();
      run.scoreWantedTurns(turns);
    } else {
      run.findSides();
      run.scoreTurns(turns);
    }
    numbers[0] = run.scoreAt();
    numbers[1] = run.directionAt();
    Atomics.store(w.state, ${done}, last);
    Atomics.notify(w.state, ${done});
  }
} catch {
  Atomics.store(w.state, ${done}, -1);
  Atomics.notify(w.state, ${done});
}
`;

/** A second thread that takes turns of the rail likeness kernel, where there is a second processor. */
export class SecondThread {
  private readonly state = new Int32Array(new SharedArrayBuffer(8));
  private readonly numbers = new Float64Array(new SharedArrayBuffer(8 * taskSize * mostTasks));
  private readonly thread: Worker | null = null;

  constructor(module: object, memory: SharedMemory) {
    if (availableParallelism() < 2) return;
    const workerData = { module, memory, state: this.state, numbers: this.numbers };
    this.thread = new Worker(threadCode, { eval: true, workerData, execArgv: [] });
    this.thread.unref();
    // A thread that cannot start takes no turn.
    this.thread.on('error', () => {});
  }

  ask({ task, turns, wantedAt, settings }: SecondTask): void {
    if (this.thread === null) return;
    this.numbers.set([settings.length, turns, wantedAt, ...settings], task * taskSize);
    Atomics.store(this.state, asked, task);
    Atomics.notify(this.state, asked);
  }

  /** Waits for a task of which the thread has taken turns; null where it fails or does not answer. */
  scoresOf(task: number): SecondScores | null {
    for (;;) {
      const last = Atomics.load(this.state, done);
      if (last === task) break;
      if (last < 0 || Atomics.wait(this.state, done, last, patienceMs) === 'timed-out') return null;
    }
    const [scoreAt, directionAt] = this.numbers.subarray(task * taskSize);
    return { scoreAt, directionAt };
  }

  /** To be called in any case. */
  end(): void {
    Atomics.store(this.state, asked, -1);
    Atomics.notify(this.state, asked);
    void this.thread?.terminate();
  }
}
