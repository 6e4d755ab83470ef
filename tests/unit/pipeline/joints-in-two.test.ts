import { describe, expect, it } from 'vitest';
import { findJointsInTwo } from '../../../server/pipeline/joints-in-two.js';
import type { SecondThread } from '../../../server/pipeline/second-thread.js';
import { type ThreadWorkName, threadWorks } from '../../../server/pipeline/thread-works.js';
import type { RunInPhoto } from '../../../server/scene/run-in-photo.js';
import { tallTrack } from '../../../server/scene/track-profile.js';
import { cameraAboveTrack, drawTrack, lineAlongTrack } from '../../support/draw-track.js';
import { jointsOf } from '../../support/joints/joints-of.js';

/** Straight track with a gap, and a joint that gapes by a few millimetres. */
function run(gap: readonly [number, number], joint: readonly [number, number]): RunInPhoto {
  const ties = Array.from({ length: 8 }, (_, i) => [30 + 75 * i, 42 + 75 * i] as const);
  const rails = [[10, gap[0]] as const, [gap[1], joint[0]] as const, [joint[1], 590] as const];
  const raster = drawTrack({ table: [96, 120, 70], rails, pinMm: 0, ties, rust: [] }, tallTrack, 5);
  return { raster, camera: cameraAboveTrack, track: tallTrack, line: lineAlongTrack };
}
const runs = [run([130, 171], [421, 423.5]), run([210, 232], [360, 362.5])];

describe('joints looked for in two threads', () => {
  it('are those of each run, with another thread and without', async () => {
    const wanted = [await jointsOf(runs[0]), await jointsOf(runs[1])];
    expect(wanted.map(({ joints }) => joints.map((j) => j.open))).toEqual([
      [true, false],
      [true, false],
    ]);
    expect(wanted[0]).not.toEqual(wanted[1]);
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
