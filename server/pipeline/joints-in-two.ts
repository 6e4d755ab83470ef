import { throwIfCancelled } from '../base/cancel.js';
import type { RailJoint } from '../scene/rail-joint.js';
import type { RunInPhoto } from '../scene/run-in-photo.js';
import { findGaps, type GapsOfRun, type JointsOfRun, jointsOfRun, unrollRun } from '../stages/joints/find-joints.js';
import { giveBackParts } from '../stages/joints/rail-parts.js';
import { type RunEnds, runEnds } from '../stages/joints/run-ends.js';
import type { SecondThread } from './second-thread.js';

/**
 * Finds open gaps, closed joints, covered stretches and the two ends of each run; about half of the work is done in the
 * second thread.
 */
export async function findJointsInTwo(
  thread: SecondThread,
  runs: readonly RunInPhoto[],
  signal?: AbortSignal,
): Promise<JointsOfRun[]> {
  const missingOfRuns = runs.map((run) => thread.run('missing-rails', run, signal));
  const found: { gaps: GapsOfRun; slits: Promise<RailJoint[]>; ends: RunEnds }[] = [];
  for (const [i, run] of runs.entries()) {
    throwIfCancelled(signal);
    const unrolled = unrollRun(run);
    const missing = await missingOfRuns[i];
    const ends = runEnds(unrolled, missing);
    const slits = thread.run('slits', [run, ends.fromS, ends.toS], signal);
    found.push({ gaps: findGaps(unrolled, missing, ends), slits, ends });
    giveBackParts(unrolled.parts);
  }
  return Promise.all(found.map(async ({ gaps, slits, ends }) => jointsOfRun(gaps, await slits, ends)));
}
