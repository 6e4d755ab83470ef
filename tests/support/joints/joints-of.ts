import { findJointsInTwo } from '../../../server/pipeline/joints-in-two.js';
import { SecondThread } from '../../../server/pipeline/second-thread.js';
import type { RunInPhoto } from '../../../server/scene/run-in-photo.js';
import type { JointsOfRun } from '../../../server/stages/joints/find-joints.js';

const alone = new SecondThread(undefined, 1);

/** What is found of one run, without a second thread. */
export async function jointsOf(run: RunInPhoto): Promise<JointsOfRun> {
  const [found] = await findJointsInTwo(alone, [run]);
  return found;
}
