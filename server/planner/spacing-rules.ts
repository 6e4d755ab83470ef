import type { Wishes } from '../contract/wishes.js';
import type { Chain } from './chain.js';
import { distanceBetween } from './nearest-places.js';
import type { SpacingRule } from './spacing-rows.js';
import { measuredLines } from './track-line.js';

/** Ties reach further out than the rails: tracks nearer than this beyond their rails lie on each other. Practice. */
const besideRailsMm = 10;

/**
 * Spacings that are wished for, and for every two runs a least distance, so that no plan lays one on the other:
 * two half tracks, or what lies between them now if that is less.
 */
export function spacingRules(chains: readonly Chain[], wishes: Wishes, faceMm: number): SpacingRule[] {
  const indexOf = (run: string) => chains.findIndex((c) => c.run === run);
  const rules: SpacingRule[] = [];
  wishes.spacing.forEach((wish, index) => {
    const pair = [indexOf(wish.runs[0]), indexOf(wish.runs[1])] as const;
    if (pair[0] >= 0 && pair[1] >= 0) rules.push({ kind: 'spacing', index, chains: pair, atLeastMm: wish.atLeastMm });
  });
  const lines = measuredLines(chains);
  for (let a = 0; a < chains.length; a++) {
    for (let b = a + 1; b < chains.length; b++) {
      const nowMm = distanceBetween(lines[a], lines[b]);
      const atLeastMm = Math.min(2 * faceMm + besideRailsMm, nowMm - 1);
      if (atLeastMm > 1) rules.push({ kind: 'apart', index: rules.length, chains: [a, b], atLeastMm });
    }
  }
  return rules;
}
