import type { Preference } from '../../server/contract/wishes.js';

/** What the planner may put first, in words. */
export const preferenceTexts: Record<Preference, string> = {
  'fewest-cuts': 'Cut as little as possible',
  'largest-loop': 'Use the table: the largest loop that fits',
  'least-change': 'Move as little as possible of what lies',
};
