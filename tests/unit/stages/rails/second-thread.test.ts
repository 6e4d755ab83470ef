import { describe, expect, it } from 'vitest';

import { newSharedMemory } from '../../../../server/images/load-kernel.js';
import { SecondThread } from '../../../../server/stages/rails/second-thread.js';

/** A kernel whose functions do nothing, but that it scores at 4660 with directions at 22136, or traps when it is to score. */
function kernelThat(traps: boolean): object {
  const fn = (body: readonly number[]): number[] => [body.length + 2, 0, ...body, 0x0b];
  const exported = { prepare: 0, findSides: 0, scoreTurns: 1, scoreAt: 2, directionAt: 3 };
  const bytes = [
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    ...section(1, [1, 0x60, 0, 1, 0x7f]),
    // Memory of one to 32768 pages, shared, from outside.
    ...section(2, [1, 3, ...Buffer.from('env'), 6, ...Buffer.from('memory'), 2, 3, 1, 0x80, 0x80, 2]),
    ...section(3, [4, 0, 0, 0, 0]),
    ...section(7, [
      Object.keys(exported).length,
      ...Object.entries(exported).flatMap(([name, index]) => [name.length, ...Buffer.from(name), 0, index]),
    ]),
    ...section(10, [
      4,
      ...fn([0x41, 0]),
      ...fn(traps ? [0x00] : [0x41, 0]),
      ...fn([0x41, 0xb4, 0x24]),
      ...fn([0x41, 0xf8, 0xac, 1]),
    ]),
  ];
  const { WebAssembly } = globalThis as unknown as { WebAssembly: { Module: new (b: Uint8Array) => object } };
  return new WebAssembly.Module(Uint8Array.from(bytes));
}

function section(id: number, body: readonly number[]): number[] {
  return [id, body.length, ...body];
}

const task = (number: number) => ({ task: number, turns: 3, wantedAt: 0, settings: [1, 2, 3] });

describe('the second thread', () => {
  it('tells where its scores are, one task after the other', () => {
    const second = new SecondThread(kernelThat(false), newSharedMemory());
    second.ask(task(1));
    expect(second.scoresOf(1)).toEqual({ scoreAt: 4660, directionAt: 22136 });
    second.ask(task(2));
    expect(second.scoresOf(2)).toEqual({ scoreAt: 4660, directionAt: 22136 });
    second.end();
  });

  it.each([
    { name: 'its kernel fails', module: () => kernelThat(true) },
    { name: 'there is no kernel', module: () => ({}) },
  ])('has no scores where $name', ({ module }) => {
    const second = new SecondThread(module(), newSharedMemory());
    second.ask(task(1));
    expect(second.scoresOf(1)).toBeNull();
    second.end();
  });
});
