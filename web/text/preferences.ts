import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { type OtherWay, otherWays, type Preference, type Wishes } from '../../server/contract/wishes.js';

/** What the planner may put first, in words. */
export const preferenceTexts: Record<Preference, string> = {
  'fewest-cuts': 'Cut as little as possible',
  'largest-loop': 'Use the table: the largest loop that fits',
  'least-change': 'Move as little as possible of what lies',
};

/** The other ways, which are offered beside a plan and may be taken. */
export const otherWayTexts: Record<OtherWay, string> = {
  'slide-together': 'Slide sections together, fewer and longer fillers',
  'take-up': 'Let the whole track move to take up the gaps',
};

/** What has to be wished for to make an alternative the plan; null where it cannot be asked for. */
export function wishesToTake(one: PlanWithoutAlternatives | undefined): Pick<Wishes, 'prefer' | 'way'> | null {
  if (one?.prefer === undefined) return null;
  const way = otherWays.find((w) => w === one.kind);
  return way !== undefined || one.kind === one.prefer ? { prefer: one.prefer, way } : null;
}
