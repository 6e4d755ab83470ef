import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { assert } from '../base/assert.js';
import { throwIfCancelled } from '../base/cancel.js';
import type { WorkOnParts } from '../base/parts.js';
import { useNoMemoryAgain } from '../images/spare-memory.js';
import { cutToPieces, takePieces, waitForPieces } from './pieces.js';
import {
  type SharedQuestion,
  type SharedWorkInput,
  type SharedWorkName,
  sharedWorks,
  type ThreadAnswer,
  type ThreadQuestion,
  type ThreadWorkInput,
  type ThreadWorkName,
  type ThreadWorkOutput,
  threadWorks,
} from './thread-works.js';

interface Pending {
  readonly question: ThreadQuestion;
  readonly resolve: (output: ThreadWorkOutput<ThreadWorkName>) => void;
  readonly reject: (error: unknown) => void;
}

/** Short-lived objects of the thread: with the usual 48 MB it would take that much more memory, and be hardly faster. */
const mostYoungMb = 12;

/**
 * A second thread that does parts of a measurement while the first goes on. Where there is no second processor, or a
 * thread cannot start or dies, the same functions run in the first thread, with the same answers. It waits for the next
 * measurement when one is done, and does not keep the process alive.
 */
export class SecondThread {
  readonly #program: URL;
  readonly #patienceMs: number;
  readonly #pending = new Map<number, Pending>();
  #worker: Worker | null = null;
  #fails: boolean;
  #nextId = 1;

  /** @param patienceMs a part of shared work that takes longer is taken for lost */
  constructor(
    program = new URL('./second-thread-program.js', import.meta.url),
    processors: number = availableParallelism(),
    patienceMs = 30_000,
  ) {
    this.#program = program;
    this.#patienceMs = patienceMs;
    this.#fails = processors < 2;
  }

  /** Starts the thread, so that it is ready when there is something to do. */
  start(): void {
    if (this.#fails || this.#worker) return;
    const worker = new Worker(this.#program, { resourceLimits: { maxYoungGenerationSizeMb: mostYoungMb } });
    worker.unref();
    worker.on('message', (answer: ThreadAnswer) => this.#take(answer));
    worker.on('error', () => this.#gone(worker));
    worker.on('exit', () => this.#gone(worker));
    this.#worker = worker;
  }

  /** Whether another thread does what is asked for: then pictures had better lie in shared memory. */
  get isApart(): boolean {
    return !this.#fails;
  }

  /**
   * Does work with the other thread's help, and returns when all of it is done. The other takes parts as soon as it has
   * done what it was asked for before; what is not taken by then is done here.
   * @param input with what the work leaves in memory that both threads see
   * @param count parts of the work
   */
  share<N extends SharedWorkName>(name: N, input: SharedWorkInput<N>, count: number): void {
    const work = sharedWorks[name] as WorkOnParts<SharedWorkInput<N>>;
    this.start();
    const worker = this.#worker;
    if (!worker || count < 2) {
      work(input, 0, count);
      return;
    }
    if ('out' in input) assert(input.out.buffer instanceof SharedArrayBuffer, 'both threads see what the work leaves');
    const pieces = cutToPieces(count);
    worker.postMessage({ name, input, pieces } satisfies SharedQuestion<N>);
    let isLost = true;
    try {
      takePieces(work, input, pieces);
    } finally {
      isLost = waitForPieces(work, input, pieces, this.#patienceMs);
    }
    if (!isLost) return;
    // It hangs, or died. What it has half done is done again, here; it may still write for a moment.
    useNoMemoryAgain();
    this.#gone(worker);
    void worker.terminate();
    work(input, 0, count);
  }

  /**
   * Asks for work, which begins when what was asked before is done. It throws what the work throws, and AbortError when
   * the signal calls it off. Nobody needs to wait for the answer.
   */
  run<N extends ThreadWorkName>(
    name: N,
    input: ThreadWorkInput<N>,
    signal?: AbortSignal,
  ): Promise<ThreadWorkOutput<N>> {
    const asked = this.#ask(name, input, signal);
    // Whoever asked may have failed meanwhile.
    asked.catch(() => {});
    return asked;
  }

  async #ask<N extends ThreadWorkName>(
    name: N,
    input: ThreadWorkInput<N>,
    signal: AbortSignal | undefined,
  ): Promise<ThreadWorkOutput<N>> {
    throwIfCancelled(signal);
    this.start();
    const worker = this.#worker;
    if (!worker) return workHere({ id: 0, name, input });
    const id = this.#nextId++;
    const stop = (): void => this.#stop();
    signal?.addEventListener('abort', stop, { once: true });
    try {
      return await new Promise<ThreadWorkOutput<N>>((resolve, reject) => {
        const question = { id, name, input } as ThreadQuestion;
        worker.postMessage(question);
        worker.ref();
        this.#pending.set(id, { question, resolve: resolve as Pending['resolve'], reject });
      });
    } finally {
      signal?.removeEventListener('abort', stop);
    }
  }

  #take(answer: ThreadAnswer): void {
    const asked = this.#pending.get(answer.id);
    this.#pending.delete(answer.id);
    if (this.#pending.size === 0) this.#worker?.unref();
    if ('error' in answer) asked?.reject(answer.error);
    else asked?.resolve(answer.output);
  }

  /** The thread could not start, or died: what it had to do is done here, now and from now on. */
  #gone(worker: Worker): void {
    if (worker !== this.#worker) return;
    this.#worker = null;
    this.#fails = true;
    for (const { question, resolve, reject } of this.#taken()) {
      try {
        resolve(workHere(question));
      } catch (error) {
        reject(error);
      }
    }
  }

  /** What was asked for is called off; the next work gets a new thread. */
  #stop(): void {
    void this.#worker?.terminate();
    this.#worker = null;
    for (const { reject } of this.#taken()) reject(new DOMException('cancelled', 'AbortError'));
  }

  #taken(): Pending[] {
    const all = [...this.#pending.values()];
    this.#pending.clear();
    return all;
  }
}

function workHere<N extends ThreadWorkName>({ name, input }: ThreadQuestion<N>): ThreadWorkOutput<N> {
  const work = threadWorks[name] as (input: ThreadWorkInput<N>) => ThreadWorkOutput<N>;
  return work(input);
}

/** The thread that measurements of this process share, one after the other. */
export const secondThread = new SecondThread();
