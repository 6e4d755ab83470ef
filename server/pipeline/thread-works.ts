import { fillColourPlan } from '../images/plan-sampling.js';
import { findTableEdge, reduceForEdge } from '../stages/table-edge/find-table-edge.js';
import { type RunsToShare, takeRuns } from './take-runs.js';

/**
 * What may be done in the second thread beside the rest: functions of what can be cloned, pictures in shared memory
 * (server/images/share-raster.ts).
 */
export const threadWorks = {
  'reduce-photo': (input: Parameters<typeof reduceForEdge>[0]) => reduceForEdge(input),
  'table-edge': (input: Parameters<typeof findTableEdge>[0]) => findTableEdge(input),
  joints: (input: RunsToShare) => takeRuns(input),
  'colour-plan': (input: Parameters<typeof fillColourPlan>) => fillColourPlan(...input),
} as const;

export type ThreadWorkName = keyof typeof threadWorks;
export type ThreadWorkInput<N extends ThreadWorkName> = Parameters<(typeof threadWorks)[N]>[0];
export type ThreadWorkOutput<N extends ThreadWorkName> = ReturnType<(typeof threadWorks)[N]>;

/** What the second thread is sent, and what it sends back. */
export interface ThreadQuestion<N extends ThreadWorkName = ThreadWorkName> {
  readonly id: number;
  readonly name: N;
  readonly input: ThreadWorkInput<N>;
}
export type ThreadAnswer =
  | { readonly id: number; readonly output: ThreadWorkOutput<ThreadWorkName> }
  | { readonly id: number; readonly error: unknown };
