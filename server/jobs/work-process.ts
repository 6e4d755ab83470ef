import { type ChildProcess, fork } from 'node:child_process';
import { setPriority } from 'node:os';
import { engineOptions } from '../base/engine-options.js';
import { failed, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Progress } from '../contract/stages.js';
import type { TaskMessage, TaskName, Tasks, WorkerMessage } from './tasks.js';

export interface WorkProcessOptions {
  /** The worker's JavaScript file. */
  readonly workerPath: string;
  /** A task that takes longer from when it was taken up is stopped, milliseconds. */
  readonly limitMs: number;
  /** After so many tasks a new process is taken: the vision library's heap grows and never shrinks. */
  readonly tasksPerProcess: number;
  /** An idle process is ended after so long, milliseconds, which gives its memory back. */
  readonly idleMs: number;
}

export const defaultWorkProcessOptions: Omit<WorkProcessOptions, 'workerPath'> = {
  limitMs: 10 * 60_000,
  tasksPerProcess: 20,
  idleMs: 60_000,
};

/** A new process must take up its task within this, milliseconds: a busy or cold computer needs seconds to load it. */
const startLimitMs = 60_000;

export interface TaskHooks {
  readonly signal?: AbortSignal;
  readonly onProgress?: (progress: Progress) => void;
  /** Called when the task leaves the queue and begins. */
  readonly onBegin?: () => void;
}

interface Pending {
  readonly message: TaskMessage;
  readonly hooks: TaskHooks;
  readonly settle: (result: Result<unknown, Problem>) => void;
  readonly abort: () => void;
  stage: string;
  begun: boolean;
}

/**
 * One process that does one task after the other, in the order of asking. A task that throws, kills its process or takes
 * too long ends with a problem; the next one begins in a new process. A task called off is gone at once.
 */
export class WorkProcess {
  readonly #options: WorkProcessOptions;
  readonly #waiting: Pending[] = [];
  #current: Pending | null = null;
  #child: ChildProcess | null = null;
  #tasksDone = 0;
  #nextId = 1;
  #limitTimer: NodeJS.Timeout | undefined;
  #idleTimer: NodeJS.Timeout | undefined;

  constructor(options: WorkProcessOptions) {
    this.#options = options;
  }

  /**
   * Does a task.
   * @returns its result, or work-failed or took-too-long. Throws AbortError when the signal calls it off.
   */
  run<N extends TaskName>(
    name: N,
    input: Tasks[N]['input'],
    hooks: TaskHooks = {},
  ): Promise<Result<Tasks[N]['output'], Problem>> {
    return new Promise((resolve, reject) => {
      const abort = (): void => {
        this.#drop(pending);
        reject(new DOMException('cancelled', 'AbortError'));
      };
      const pending: Pending = {
        message: { id: this.#nextId++, name, input },
        hooks,
        stage: name,
        begun: false,
        abort,
        settle: (result) => {
          hooks.signal?.removeEventListener('abort', abort);
          resolve(result as Result<Tasks[N]['output'], Problem>);
        },
      };
      if (hooks.signal?.aborted) return abort();
      hooks.signal?.addEventListener('abort', abort, { once: true });
      this.#waiting.push(pending);
      this.#begin();
    });
  }

  /** Whether the next task must wait for a new process. */
  get isCold(): boolean {
    return this.#child === null && this.#current === null;
  }

  /** Stops everything; what still waits is called off. */
  close(): void {
    for (const pending of [...this.#waiting, ...(this.#current ? [this.#current] : [])]) pending.abort();
    this.#endChild();
  }

  #drop(pending: Pending): void {
    const place = this.#waiting.indexOf(pending);
    if (place >= 0) this.#waiting.splice(place, 1);
    if (this.#current !== pending) return;
    this.#current = null;
    this.#endChild();
    this.#begin();
  }

  #begin(): void {
    if (this.#current) return;
    const next = this.#waiting.shift();
    clearTimeout(this.#idleTimer);
    if (!next) {
      this.#idleTimer = setTimeout(() => this.#endChild(), this.#options.idleMs).unref();
      return;
    }
    this.#current = next;
    this.#stopAfter(startLimitMs);
    next.hooks.onBegin?.();
    const child = this.#child ?? this.#startChild();
    child.send(next.message, (error) => {
      if (error && this.#child === child) this.#childGone(child);
    });
  }

  #stopAfter(ms: number): void {
    clearTimeout(this.#limitTimer);
    this.#limitTimer = setTimeout(() => this.#tookTooLong(), ms);
  }

  #startChild(): ChildProcess {
    const child = fork(this.#options.workerPath, [], {
      serialization: 'advanced',
      stdio: ['ignore', 'ignore', 'inherit', 'ipc'],
      execArgv: [...engineOptions],
    });
    this.#child = child;
    this.#tasksDone = 0;
    try {
      // Answering requests goes before computing.
      if (child.pid !== undefined) setPriority(child.pid, 10);
    } catch {
      // Some systems do not allow that; it only costs smoothness.
    }
    child.on('message', (message) => this.#receive(child, message as WorkerMessage));
    child.on('error', () => this.#childGone(child));
    child.on('exit', () => this.#childGone(child));
    return child;
  }

  #receive(child: ChildProcess, message: WorkerMessage): void {
    const current = this.#current;
    if (child !== this.#child || current?.message.id !== message.id) return;
    if (!current.begun) this.#stopAfter(this.#options.limitMs);
    current.begun = true;
    if ('begun' in message) return;
    if ('progress' in message) {
      current.stage = message.progress.stage;
      current.hooks.onProgress?.(message.progress);
      return;
    }
    this.#tasksDone += 1;
    if ('fault' in message) {
      process.stderr.write(`work on “${current.stage}” failed: ${message.fault}\n`);
      // Whatever state an exception left in the vision library goes with its process.
      this.#endChild();
      this.#finish(failed(problem('work-failed', { stage: current.stage })));
      return;
    }
    if (this.#tasksDone >= this.#options.tasksPerProcess) this.#endChild();
    this.#finish(message.result);
  }

  #childGone(child: ChildProcess): void {
    if (child !== this.#child) return;
    this.#child = null;
    if (this.#current) this.#finish(failed(problem('work-failed', { stage: this.#current.stage })));
  }

  #tookTooLong(): void {
    this.#endChild();
    this.#finish(failed(problem('took-too-long', { minutes: Math.ceil(this.#options.limitMs / 60_000) })));
  }

  #finish(result: Result<unknown, Problem>): void {
    clearTimeout(this.#limitTimer);
    const current = this.#current;
    this.#current = null;
    current?.settle(result);
    this.#begin();
  }

  #endChild(): void {
    clearTimeout(this.#limitTimer);
    clearTimeout(this.#idleTimer);
    const child = this.#child;
    this.#child = null;
    child?.kill('SIGKILL');
  }
}
