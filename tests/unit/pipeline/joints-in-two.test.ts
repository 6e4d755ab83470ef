import { describe, expect, it } from 'vitest';
import { findJointsInTwo } from '../../../server/pipeline/joints-in-two.js';
import { SecondThread } from '../../../server/pipeline/second-thread.js';
import { type RunsToShare, takeRuns } from '../../../server/pipeline/take-runs.js';
import { parseTrackProfile } from '../../../server/scene/parse-track-profile.js';
import type { RunInPhoto } from '../../../server/scene/run-in-photo.js';
import { findJoints } from '../../../server/stages/joints/find-joints.js';

const profile = parseTrackProfile('tall');
if (!profile.ok) throw new Error(profile.problem.code);
const track = profile.value;

/** Straight down on bands of light and dark: nothing of track, but each run sees others of them. */
const raster = {
  widthPx: 800,
  heightPx: 300,
  channels: 3 as const,
  data: Uint8Array.from({ length: 800 * 300 * 3 }, (_, i) => 90 + 80 * Math.sin((Math.floor(i / 3) % 800) / 9)),
};
const camera = {
  lens: { fx: 1000, fy: 1000, cx: 399.5, cy: 149.5, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, 1000] as const },
};
function run(fromMm: number, lengthMm: number): RunInPhoto {
  const places = Array.from({ length: lengthMm / 4 + 1 }, (_, i) => ({ x: fromMm + 4 * i, y: 0, headingRad: 0 }));
  return { raster, camera, track, line: { stepMm: 4, closed: false, places } };
}
const runs = [run(-300, 240), run(-200, 400), run(40, 200)];
const wanted = runs.map((r) => findJoints(r));

/** In the place of the second thread: what becomes of the runs that it is asked to share. */
function threadThat(shares: (shared: RunsToShare) => ReturnType<typeof takeRuns>): SecondThread {
  return { run: (_name: string, shared: RunsToShare) => Promise.resolve(shares(shared)) } as unknown as SecondThread;
}

describe('joints looked for in two threads', () => {
  it('are those of each run, whichever thread took it', async () => {
    expect(wanted[0]).not.toEqual(wanted[1]);
    const takesOne = threadThat((shared) => takeRuns({ ...shared, order: shared.order.slice(0, 1) }));
    expect(await findJointsInTwo(takesOne, runs)).toEqual(wanted);
    expect(await findJointsInTwo(threadThat(takeRuns), runs)).toEqual(wanted);
    expect(await findJointsInTwo(new SecondThread(undefined, 1), runs)).toEqual(wanted);
  });

  it('are found of a run too that the second thread took and gave no answer for', async () => {
    const dies = threadThat(({ taken }) => {
      Atomics.add(taken, 0, 2);
      return [];
    });
    expect(await findJointsInTwo(dies, runs)).toEqual(wanted);
  });

  it('are not looked for once the work is called off', async () => {
    const idle = threadThat(() => []);
    await expect(findJointsInTwo(idle, runs, AbortSignal.abort())).rejects.toMatchObject({ name: 'AbortError' });
  });
});
