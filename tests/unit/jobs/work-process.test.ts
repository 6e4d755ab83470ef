import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, describe, expect, it, vi } from 'vitest';
import { defaultWorkProcessOptions, WorkProcess, type WorkProcessOptions } from '../../../server/jobs/work-process.js';

const folder = mkdtempSync(join(tmpdir(), 'gapwright-worker-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const open: WorkProcess[] = [];
afterEach(() => {
  for (const work of open.splice(0)) work.close();
});

/** A worker that answers with its process id and what it was asked to reduce. */
const workerPath = join(folder, 'worker.mjs');
writeFileSync(
  workerPath,
  `process.on('message', ({ id, input }) => {
    process.send({ id, begun: true });
    if (input.name === 'die') process.exit(1);
    if (input.name === 'hang') for (;;);
    const answer = () => process.send({ id, result: { ok: true, value: { pid: process.pid, name: input.name } } });
    if (input.name === 'wait') setTimeout(answer, 150); else answer();
  });`,
);

function newProcess(options: Partial<WorkProcessOptions> = {}): WorkProcess {
  const work = new WorkProcess({ ...defaultWorkProcessOptions, workerPath, ...options });
  open.push(work);
  return work;
}

async function run(
  work: WorkProcess,
  name: string,
  signal?: AbortSignal,
): Promise<{ pid: number; name: string } | string> {
  const input = { name, path: '', viewPath: '', mostWidthPx: 1 };
  const result = await work.run('reduce-photo', input, signal ? { signal } : {});
  return result.ok ? (result.value as unknown as { pid: number; name: string }) : result.problem.code;
}

const pidOf = (answer: { pid: number } | string): number => (typeof answer === 'string' ? Number.NaN : answer.pid);

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch {
    return false;
  }
}

/** Where the machine has much to do, it may be long before a process has its turn. */
const patience = { timeout: 15_000, interval: 20 };

describe('a work process', () => {
  it('does tasks in the order of asking, in one process', async () => {
    const work = newProcess();
    const answers = await Promise.all(['wait', 'b', 'c'].map((name) => run(work, name)));
    expect(answers.map((a) => (typeof a === 'string' ? a : a.name))).toEqual(['wait', 'b', 'c']);
    expect(new Set(answers.map(pidOf)).size).toBe(1);
  });

  it('loses only the task that killed it', async () => {
    const work = newProcess();
    const answers = await Promise.all(['a', 'die', 'b', 'die', 'c'].map((name) => run(work, name)));
    expect(answers.map((a) => (typeof a === 'string' ? a : a.name))).toEqual([
      'a',
      'work-failed',
      'b',
      'work-failed',
      'c',
    ]);
  });

  it('is renewed after the stated number of tasks', async () => {
    const work = newProcess({ tasksPerProcess: 2 });
    const pids = [];
    for (const name of ['a', 'b', 'c', 'd', 'e']) pids.push(pidOf(await run(work, name)));
    expect(pids[0]).toBe(pids[1]);
    expect(pids[2]).toBe(pids[3]);
    expect(new Set(pids).size).toBe(3);
  });

  it('is ended when it was idle for the stated time, and started again when needed', async () => {
    const work = newProcess({ idleMs: 50 });
    const first = pidOf(await run(work, 'a'));
    await vi.waitFor(() => expect(isAlive(first)).toBe(false), patience);
    expect(pidOf(await run(work, 'b'))).not.toBe(first);
  });

  it('stops a task that takes too long, and goes on', async () => {
    const work = newProcess({ limitMs: 500 });
    const answers = await Promise.all([run(work, 'hang'), run(work, 'b')]);
    expect(answers[0]).toBe('took-too-long');
    expect(typeof answers[1]).toBe('object');
  });

  it('drops a task that is called off, whether it waits or works', async () => {
    const work = newProcess();
    const controller = new AbortController();
    const working = run(work, 'hang', controller.signal);
    const waiting = run(work, 'b', controller.signal);
    const after = run(work, 'c');
    controller.abort();
    await expect(working).rejects.toThrow('cancelled');
    await expect(waiting).rejects.toThrow('cancelled');
    expect(typeof (await after)).toBe('object');
    await expect(run(work, 'd', controller.signal)).rejects.toThrow('cancelled');
  });

  it('leaves no process behind when it is closed', async () => {
    const work = newProcess();
    const pid = pidOf(await run(work, 'a'));
    const hanging = run(work, 'hang').catch((error: Error) => error.name);
    work.close();
    expect(await hanging).toBe('AbortError');
    await vi.waitFor(() => expect(isAlive(pid)).toBe(false), patience);
  });
});
