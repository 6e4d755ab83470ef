import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { SharedMemory } from '../../images/load-kernel.js';

/** What the second thread is asked to do, in the order in which its program takes them. */
export interface SecondTask {
  /** Turns of the whole task. */
  readonly turns: number;
  /** Whether only what is wanted is to be scored. */
  readonly wanted: boolean;
  /** What the kernel's `prepare` takes. */
  readonly settings: readonly number[];
}

/** Numbers that a task may have. */
const taskSize = 32;

/** The other thread does one turn after this one has none left: it answers soon, or never. */
const patienceMs = 30_000;

/** Place in the state that both threads see: what the second thread does, or is to do. */
const stage = 0;
/** Nothing; what it is asked for; that; nothing ever more, as it failed; and it is to end. */
const idle = 0;
const asked = 1;
const working = 2;
const failed = 3;
const ended = 4;

/**
 * Plain JavaScript that needs no file: it runs alike from the sources and from what is built. Nothing is known in it but
 * `workerData`.
 */
const threadCode = `
const { workerData: w } = require('node:worker_threads');
try {
  const run = new WebAssembly.Instance(w.module, { env: { memory: w.memory } }).exports;
  for (;;) {
    const now = Atomics.compareExchange(w.state, ${stage}, ${asked}, ${working});
    if (now === ${ended}) break;
    if (now !== ${asked}) {
      Atomics.wait(w.state, ${stage}, now);
      continue;
    }
    const [count, turns, wanted] = w.numbers;
    run.prepare(...w.numbers.subarray(3, 3 + count));
    if (wanted) {
      run.findWanted();
      run.scoreWantedTurns(turns);
    } else {
      run.findSides();
      run.scoreTurns(turns);
    }
    Atomics.compareExchange(w.state, ${stage}, ${working}, ${idle});
    Atomics.notify(w.state, ${stage});
  }
} catch {
  Atomics.store(w.state, ${stage}, ${failed});
  Atomics.notify(w.state, ${stage});
}
`;

/** A second thread that takes turns of the rail likeness kernel, where there is a second processor. */
export class SecondThread {
  private readonly state = new Int32Array(new SharedArrayBuffer(4));
  private readonly numbers = new Float64Array(new SharedArrayBuffer(8 * taskSize));
  private readonly thread: Worker | null = null;
  private isAsked = false;

  constructor(module: object, memory: SharedMemory) {
    if (availableParallelism() < 2) return;
    const workerData = { module, memory, state: this.state, numbers: this.numbers };
    this.thread = new Worker(threadCode, { eval: true, workerData, execArgv: [] });
    this.thread.unref();
    // A thread that cannot start takes no turn.
    this.thread.on('error', () => {});
  }

  /** To be called when the task before is done. */
  ask({ turns, wanted, settings }: SecondTask): void {
    if (this.thread === null) return;
    this.numbers.set([settings.length, turns, wanted ? 1 : 0, ...settings]);
    this.isAsked = Atomics.compareExchange(this.state, stage, idle, asked) === idle;
    Atomics.notify(this.state, stage);
  }

  /**
   * Waits until the thread has done the turns that it took; what it has not begun yet it does not begin any more.
   * @returns false where it took some and failed
   */
  isDone(): boolean {
    const { state } = this;
    if (!this.isAsked || Atomics.compareExchange(state, stage, asked, idle) === asked) return true;
    while (Atomics.load(state, stage) === working)
      if (Atomics.wait(state, stage, working, patienceMs) === 'timed-out') return false;
    return Atomics.load(state, stage) === idle;
  }

  /**
   * To be called in any case.
   * @returns whether the thread surely no longer touches the memory
   */
  end(): boolean {
    const before = Atomics.exchange(this.state, stage, ended);
    Atomics.notify(this.state, stage);
    void this.thread?.terminate();
    return before !== working;
  }
}
