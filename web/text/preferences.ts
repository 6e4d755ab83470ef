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

/** The kinds in which an alternative may differ; what is not listed is shown by its number. */
const kindTexts: Record<string, string> = { ...preferenceTexts, ...otherWayTexts };

/** @param kind as the plan says it */
export function kindText(kind: string | undefined, place: number): string {
  return kindTexts[kind ?? ''] ?? `Way ${place + 1}`;
}

/** What has to be wished for to make an alternative the plan; null where it cannot be asked for. */
export function wishesToTake(one: PlanWithoutAlternatives | undefined): Pick<Wishes, 'prefer' | 'way'> | null {
  if (one?.prefer === undefined) return null;
  const way = otherWays.find((w) => w === one.kind);
  return way !== undefined || one.kind === one.prefer ? { prefer: one.prefer, way } : null;
}

export function cutsOf({ cuts, donors }: PlanWithoutAlternatives): number {
  return cuts ?? donors.reduce((n, d) => n + d.pieces.length, 0);
}

/**
 * What a plan is called beside others: no more than it keeps. The fewest cuts where the track lies are not the fewest of
 * all where another way has fewer, and a loop that was not proved the largest is the largest found.
 */
export function planName(one: PlanWithoutAlternatives, all: readonly PlanWithoutAlternatives[], place: number): string {
  const kind = one.kind ?? one.prefer;
  const name = kindText(kind, place);
  if (kind === 'fewest-cuts' && all.some((other) => cutsOf(other) < cutsOf(one))) return `${name} where the track lies`;
  if (kind === 'largest-loop' && one.search?.proved === false) return 'Use the table: the largest loop that was found';
  return name;
}
