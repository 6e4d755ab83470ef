import type { RunInPhoto } from '../scene/run-in-photo.js';
import { findJoints, type JointsOfRun } from '../stages/joints/find-joints.js';
import type { SecondThread } from './second-thread.js';
import { takeRuns } from './take-runs.js';

/** The joints of each run: of a single one here, of several in both threads. */
export async function findJointsInTwo(
  thread: SecondThread,
  runs: readonly RunInPhoto[],
  signal?: AbortSignal,
): Promise<JointsOfRun[]> {
  // Long ones first, so that neither thread has a long one left at the end.
  const order = [...runs.keys()].sort((a, b) => runs[b].line.places.length - runs[a].line.places.length);
  const shared = { runs, order, taken: new Int32Array(new SharedArrayBuffer(4)) };
  const theirs = runs.length > 1 ? thread.run('joints', shared, signal) : [];
  const own = takeRuns(shared, signal);
  const found = new Map([...own, ...(await theirs)]);
  // A thread that died has taken runs without an answer.
  return runs.map((run, i) => found.get(i) ?? findJoints(run));
}
