import { describe, expect, it } from 'vitest';

import { newSharedMemory } from '../../../../server/images/load-kernel.js';
import { SecondThread } from '../../../../server/stages/rails/second-thread.js';

/** A kernel whose functions do nothing, or trap when they are to score. */
function kernelThat(traps: boolean): object {
  const fn = (body: readonly number[]): number[] => [body.length + 2, 0, ...body, 0x0b];
  const exported = { prepare: 0, findSides: 0, scoreTurns: 1 };
  const bytes = [
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(1, [1, 0x60, 0, 1, 0x7f]),
    // Memory of one to 32768 pages, shared, from outside.
    ...section(2, [1, 3, ...Buffer.from('env'), 6, ...Buffer.from('memory'), 2, 3, 1, 0x80, 0x80, 2]),
    ...section(3, [2, 0, 0]),
    ...section(7, [
      Object.keys(exported).length,
      ...Object.entries(exported).flatMap(([name, index]) => [name.length, ...Buffer.from(name), 0, index]),
    ]),
    ...section(10, [2, ...fn([0x41, 0]), ...fn(traps ? [0x00] : [0x41, 0])]),
  ];
  const { WebAssembly } = globalThis as unknown as { WebAssembly: { Module: new (b: Uint8Array) => object } };
  return new WebAssembly.Module(Uint8Array.from(bytes));
}

function section(id: number, body: readonly number[]): number[] {
  return [id, body.length, ...body];
}

const task = { turns: 3, wanted: false, settings: [1, 2, 3] };

/** Long enough for a thread to start, and for what does nothing to be done. */
function waitAWhile(): void {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 1500);
}

describe('the second thread', () => {
  it('does one task after the other, and those that it has not begun no more', () => {
    const second = new SecondThread(kernelThat(false), newSharedMemory());
    second.ask(task);
    expect(second.isDone()).toBe(true);
    second.ask(task);
    waitAWhile();
    expect(second.isDone()).toBe(true);
    expect(second.end()).toBe(true);
  });

  it.each([
    { name: 'its kernel fails', module: () => kernelThat(true) },
    { name: 'there is no kernel', module: () => ({}) },
  ])('is not done where $name', ({ module }) => {
    const second = new SecondThread(module(), newSharedMemory());
    second.ask(task);
    waitAWhile();
    expect(second.isDone()).toBe(false);
    // Nothing is left undone of what it is asked then: it takes no turn.
    second.ask(task);
    expect(second.isDone()).toBe(true);
    second.end();
  });
});
