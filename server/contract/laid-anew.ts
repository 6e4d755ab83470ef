import type { Plan } from './plan.js';

type Stretch = Plan['stretches'][number];

/** A stretch that comes out longer or shorter by less is only closed up, millimetres. */
const closedUpMm = 3;

/** Whether a plan lays a straight stretch of other pieces than now, or of the same in less room. */
export function isLaidAnew({ nowMm, thenMm, made }: Stretch): boolean {
  return Math.abs(thenMm - nowMm) > closedUpMm || made.some((part) => !('filler' in part) && part.source === 'stock');
}
