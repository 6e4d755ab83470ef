import { throwIfCancelled } from '../base/cancel.js';
import type { RunInPhoto } from '../scene/run-in-photo.js';
import { findJoints, type JointsOfRun } from '../stages/joints/find-joints.js';

/** Runs whose joints two threads look for: each takes the next one when it has none. */
export interface RunsToShare {
  readonly runs: readonly RunInPhoto[];
  /** Indices of the runs, in the order in which they are taken. */
  readonly order: readonly number[];
  /** How many have been taken; both threads see it. */
  readonly taken: Int32Array;
}

/** Looks for the joints of runs as long as there are any left to take; each result with the run's index. */
export function takeRuns({ runs, order, taken }: RunsToShare, signal?: AbortSignal): [number, JointsOfRun][] {
  const found: [number, JointsOfRun][] = [];
  for (;;) {
    throwIfCancelled(signal);
    const next = Atomics.add(taken, 0, 1);
    if (next >= order.length) return found;
    found.push([order[next], findJoints(runs[order[next]])]);
  }
}
