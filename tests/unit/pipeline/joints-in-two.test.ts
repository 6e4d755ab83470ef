import { describe, expect, it } from 'vitest';
import { findJointsInTwo } from '../../../server/pipeline/joints-in-two.js';
import { SecondThread } from '../../../server/pipeline/second-thread.js';
import { type ThreadWorkName, threadWorks } from '../../../server/pipeline/thread-works.js';
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

describe('joints looked for in two threads', () => {
  it('are those of each run, with another thread and without', async () => {
    expect(wanted[0]).not.toEqual(wanted[1]);
    expect(await findJointsInTwo(new SecondThread(undefined, 1), runs)).toEqual(wanted);
    const asked: string[] = [];
    const answers = {
      run: async (name: ThreadWorkName, input: never) => {
        asked.push(name);
        // What another thread is sent is a copy of it.
        return (threadWorks[name] as (input: never) => unknown)(structuredClone(input));
      },
    } as unknown as SecondThread;
    expect(await findJointsInTwo(answers, runs)).toEqual(wanted);
    expect(asked.sort()).toEqual([...runs.map(() => 'missing-rails'), ...runs.map(() => 'slits')]);
  });

  it('are not looked for once the work is called off', async () => {
    const idle = { run: () => new Promise(() => {}) } as unknown as SecondThread;
    await expect(findJointsInTwo(idle, runs, AbortSignal.abort())).rejects.toMatchObject({ name: 'AbortError' });
  });
});
