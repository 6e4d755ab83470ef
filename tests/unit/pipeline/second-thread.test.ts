import { describe, expect, it } from 'vitest';
import { colourPlan, type fillColourPlan, type PlanGrid } from '../../../server/images/plan-sampling.js';
import { sharedRaster } from '../../../server/images/share-raster.js';
import { drawInTwo } from '../../../server/pipeline/draw-beside.js';
import { SecondThread } from '../../../server/pipeline/second-thread.js';

/** A thread's program that does something else with its questions, so that it shows who answered. */
const program = (answer: string): URL =>
  new URL(
    `data:text/javascript,${encodeURIComponent(
      `import { parentPort } from 'node:worker_threads';
       parentPort.on('message', ({ id, name, input }) => { ${answer} });`,
    )}`,
  );
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

/** Work that leaves its result in the picture given. */
function someWork() {
  const out = new Uint8Array(new SharedArrayBuffer(3 * grid.widthPx * grid.heightPx));
  const rows = Math.ceil(grid.heightPx / 4);
  const input: Parameters<typeof fillColourPlan> = [raster, camera, grid, 0, out, 0, rows];
  return { out, input };
}
const wanted = colourPlan(raster, camera, grid, 0).data;

describe('the second thread of a measurement', () => {
  it('answers one question after the other', async () => {
    const thread = new SecondThread(answersThere, 2);
    const { input } = someWork();
    expect(await Promise.all([thread.run('colour-plan', input), thread.run('colour-plan', input)])).toEqual([
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
    const { out, input } = someWork();
    expect(await thread.run('colour-plan', input)).toBeUndefined();
    expect(Buffer.compare(out, wanted)).toBe(0);
    expect(thread.isApart).toBe(false);
  });

  it('hands on what the work throws', async () => {
    const thread = new SecondThread(program(`parentPort.postMessage({ id, error: new RangeError('no row') })`), 2);
    await expect(thread.run('colour-plan', someWork().input)).rejects.toThrow(new RangeError('no row'));
  });

  it('stops at once when the work is called off, and works on for the next', async () => {
    const thread = new SecondThread(program(`if (input[5] === 0) parentPort.postMessage({ id, output: 'there' })`), 2);
    const { input } = someWork();
    const [first, ...rest] = input;
    const controller = new AbortController();
    const hangs = thread.run('colour-plan', [first, ...rest.with(4, 1)] as typeof input, controller.signal);
    controller.abort();
    await expect(hangs).rejects.toMatchObject({ name: 'AbortError' });
    expect(await thread.run('colour-plan', input)).toBe('there');
    await expect(thread.run('colour-plan', input, AbortSignal.abort())).rejects.toMatchObject({ name: 'AbortError' });
  });

  it('draws half a plan, the same as the first', async () => {
    const thread = new SecondThread(answersThere, 1);
    const drawn = await drawInTwo(thread)(raster, camera, grid, 0);
    expect(Buffer.compare(drawn.data, wanted)).toBe(0);
  });
});
