import type { Preference } from '../../server/contract/wishes.js';

/** What the planner may put first, in words. */
export const preferenceTexts: Record<Preference, string> = {
  'fewest-cuts': 'Cut as little as possible',
  'largest-loop': 'Use the table: the largest loop that fits',
  'least-change': 'Move as little as possible of what lies',
};

/** The kinds in which an alternative may differ; what is not listed is shown by its number. */
const kindTexts: Record<string, string> = {
  ...preferenceTexts,
  'slide-together': 'Slide sections together, fewer and longer fillers',
  'take-up': 'Let the whole track move to take up the gaps',
};

/** @param kind as the plan says it */
export function kindText(kind: string | undefined, place: number): string {
  return kindTexts[kind ?? ''] ?? `Way ${place + 1}`;
}
