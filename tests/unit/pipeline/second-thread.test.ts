import { describe, expect, it } from 'vitest';
import { cellRows, colourPlan, type PlanGrid } from '../../../server/images/plan-sampling.js';
import { sharedRaster } from '../../../server/images/share-raster.js';
import { giveBack, mayUseMemoryAgain, sharedBytes } from '../../../server/images/spare-memory.js';
import { drawInTwo } from '../../../server/pipeline/draw-beside.js';
import { SecondThread } from '../../../server/pipeline/second-thread.js';
import { reduceForEdge } from '../../../server/stages/table-edge/find-table-edge.js';

/** A thread's program that does something else with its questions, so that it shows who answered. */
const program = (answer: string): URL =>
  new URL(
    `data:text/javascript,${encodeURIComponent(
      `import { parentPort } from 'node:worker_threads';
       parentPort.on('message', ({ id, name, input, pieces }) => { ${answer} });`,
    )}`,
  );
/** How the thread's program takes the next piece of shared work. */
const takePiece = 'Atomics.add(pieces.state, 0, 1)';
const answersThere = program(`parentPort.postMessage({ id, output: 'there' })`);

const grid: PlanGrid = { x0: 0, y1: 180, mmPerPx: 1.5, widthPx: 130, heightPx: 121 };
/** One metre above the table, looking straight down: a part of the plan lies outside its picture. */
const camera = {
  lens: { fx: 400, fy: 400, cx: 49.5, cy: 39.5, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-90, 90, 1000] as const },
};
const raster = sharedRaster({
  widthPx: 100,
  heightPx: 80,
  channels: 3,
  data: Uint8Array.from({ length: 100 * 80 * 3 }, (_, i) => (i * 7919) % 256),
});

const reduced = reduceForEdge(raster);
const wanted = colourPlan(raster, camera, grid, 0).data;

/** Work on rows of a plan, which leaves what it makes in memory that both threads see. */
function someRows() {
  const out = new Uint8Array(new SharedArrayBuffer(wanted.length));
  return { raster, camera, grid, heightMm: 0, out };
}

/** Where the machine has much to do, it may be long before the other thread has its turn. */
const secondsFromNow = (seconds: number): number => performance.now() + seconds * 1000;

describe('the second thread of a measurement', () => {
  it('answers one question after the other', async () => {
    const thread = new SecondThread(answersThere, 2);
    expect(await Promise.all([thread.run('reduce-photo', raster), thread.run('reduce-photo', raster)])).toEqual([
      'there',
      'there',
    ]);
  });

  it.each([
    ['there is but one processor', answersThere, 1],
    ['its program is missing', new URL('./no-such-program.js', import.meta.url), 2],
    ['it dies at work', program('process.exit(1)'), 2],
  ])('leaves the work to the first where %s', async (_why, url, processors) => {
    const thread = new SecondThread(url, processors);
    expect(await thread.run('reduce-photo', raster)).toEqual(reduced);
    expect(thread.isApart).toBe(false);
    const rows = someRows();
    thread.share('colour-plan', rows, cellRows(grid));
    expect(Buffer.compare(rows.out, wanted)).toBe(0);
  });

  it('hands on what the work throws', async () => {
    const thread = new SecondThread(program(`parentPort.postMessage({ id, error: new RangeError('no row') })`), 2);
    await expect(thread.run('reduce-photo', raster)).rejects.toThrow(new RangeError('no row'));
  });

  it('stops at once when the work is called off, and works on for the next', async () => {
    const thread = new SecondThread(
      program(`if (input.widthPx > 1) parentPort.postMessage({ id, output: 'there' })`),
      2,
    );
    const controller = new AbortController();
    const hangs = thread.run('reduce-photo', { ...raster, widthPx: 1 }, controller.signal);
    controller.abort();
    await expect(hangs).rejects.toMatchObject({ name: 'AbortError' });
    expect(await thread.run('reduce-photo', raster)).toBe('there');
    await expect(thread.run('reduce-photo', raster, AbortSignal.abort())).rejects.toMatchObject({ name: 'AbortError' });
  });

  it('draws a plan over whatever the memory held before', () => {
    const before = sharedBytes(wanted.length);
    before.fill(77);
    giveBack(before);
    const drawn = drawInTwo(new SecondThread(answersThere, 1))(raster, camera, grid, 0);
    expect(drawn.data.buffer).toBe(before.buffer);
    expect(Buffer.compare(drawn.data, wanted)).toBe(0);
  });

  it('shares work: each part is done by one of the two', async () => {
    const thread = new SecondThread(
      program(`if (!pieces) parentPort.postMessage({ id, output: 'ready' });
        else for (;;) {
          const piece = ${takePiece};
          if (piece >= pieces.state.length - 1) break;
          const rowOf = (k) => Math.min(input.grid.heightPx, 4 * Math.floor((k * pieces.count) / (pieces.state.length - 1)));
          const rowBytes = 3 * input.grid.widthPx;
          input.out.fill(1, rowOf(piece) * rowBytes, rowOf(piece + 1) * rowBytes);
          Atomics.store(pieces.state, 1 + piece, 1);
          Atomics.notify(pieces.state, 1 + piece);
        }`),
      2,
    );
    await thread.run('reduce-photo', raster);
    // Which thread takes how many is chance; that either takes none in many seconds is not.
    let [turns, ours, theirs] = [0, 0, 0];
    for (const end = secondsFromNow(15); (ours === 0 || theirs === 0) && performance.now() < end; turns++) {
      const rows = someRows();
      thread.share('colour-plan', rows, cellRows(grid));
      ours += rows.out.filter((value, i) => value === wanted[i]).length;
      theirs += rows.out.filter((value, i) => value !== wanted[i] && value === 1).length;
    }
    expect(ours + theirs).toBe(turns * wanted.length);
    expect(Math.min(ours, theirs)).toBeGreaterThan(0);
  });

  it.each([
    ['hangs', 'for (;;);'],
    ['dies', 'process.exit(1)'],
  ])('does what the second has taken where that then %s', async (_how, then) => {
    const thread = new SecondThread(
      program(`if (!pieces) parentPort.postMessage({ id, output: 'ready' });
        else if (${takePiece} < pieces.state.length - 1) { ${then} }`),
      2,
      200,
    );
    await thread.run('reduce-photo', raster);
    for (const end = secondsFromNow(15); thread.isApart && performance.now() < end; ) {
      const rows = someRows();
      thread.share('colour-plan', rows, cellRows(grid));
      expect(Buffer.compare(rows.out, wanted)).toBe(0);
    }
    expect(thread.isApart).toBe(false);
    expect(await thread.run('reduce-photo', raster)).toEqual(reduced);
    // It may still write to any memory that it was given.
    expect(mayUseMemoryAgain()).toBe(false);
  });
});
