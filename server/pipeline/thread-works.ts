import { fillGreyPlan } from '../images/grey-plan.js';
import { fillColourPlan } from '../images/plan-sampling.js';
import { giveBack } from '../images/spare-memory.js';
import { findSlits } from '../stages/joints/closed-joints.js';
import { missingRails } from '../stages/joints/find-joints.js';
import { fillMerits, fillRails } from '../stages/rails/fill-places.js';
import { scoreTurns } from '../stages/rails/rail-likeness.js';
import { findSides, measureSide, reduceForEdge } from '../stages/table-edge/find-table-edge.js';
import type { Pieces } from './pieces.js';

/**
 * What may be done in the second thread beside the rest: functions of what can be cloned, pictures in shared memory
 * (server/images/share-raster.ts).
 */
export const threadWorks = {
  'reduce-photo': (input: Parameters<typeof reduceForEdge>[0]) => reduceForEdge(input),
  'table-sides': (input: Parameters<typeof findSides>[0]) => findSides(input),
  /** Memory that the thread had handed out, once nobody looks at it any more. */
  'give-back': (input: readonly ArrayBufferView[]) => input.forEach(giveBack),
  'table-side': (input: Parameters<typeof measureSide>) => measureSide(...input),
  'missing-rails': (input: Parameters<typeof missingRails>[0]) => missingRails(input),
  slits: (input: Parameters<typeof findSlits>) => findSlits(...input),
} as const;

/** What both threads do together, each taking parts of it as long as there are any: work on parts of what can be cloned. */
export const sharedWorks = {
  'colour-plan': fillColourPlan,
  'likeness-turns': scoreTurns,
  'grey-plan': fillGreyPlan,
  'rail-merits': fillMerits,
  'rails-beside': fillRails,
} as const;

export type ThreadWorkName = keyof typeof threadWorks;
export type ThreadWorkInput<N extends ThreadWorkName> = Parameters<(typeof threadWorks)[N]>[0];
export type ThreadWorkOutput<N extends ThreadWorkName> = ReturnType<(typeof threadWorks)[N]>;
export type SharedWorkName = keyof typeof sharedWorks;
export type SharedWorkInput<N extends SharedWorkName> = Parameters<(typeof sharedWorks)[N]>[0];

/** What the second thread is sent, and what it sends back. */
export interface ThreadQuestion<N extends ThreadWorkName = ThreadWorkName> {
  readonly id: number;
  readonly name: N;
  readonly input: ThreadWorkInput<N>;
}
export type ThreadAnswer =
  | { readonly id: number; readonly output: ThreadWorkOutput<ThreadWorkName> }
  | { readonly id: number; readonly error: unknown };

/** Work that the second thread is asked to share; it sends no answer. */
export interface SharedQuestion<N extends SharedWorkName = SharedWorkName> {
  readonly name: N;
  readonly input: SharedWorkInput<N>;
  readonly pieces: Pieces;
}
