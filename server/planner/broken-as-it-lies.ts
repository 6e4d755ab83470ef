import { nearestToSide, rangeOf } from './edge-clearance.js';
import { distanceBetween } from './nearest-places.js';
import type { Case } from './question.js';
import { zoneRegions } from './regions.js';
import { measuredSpans } from './spans.js';
import { measuredLines } from './track-line.js';
import { asMeasured, lackOf } from './ways-out.js';

/** A case before it is known what the track breaks as it lies. */
type Unweighed = Omit<Case, 'broken' | 'edgeMm' | 'safetyMm'>;

/** A wish counts as broken by more than this: less is within what a report's rounding makes. */
const noticeMm = 0.05;

/** Runs whose measured track breaks a clearance, a zone or a spacing that is wished for. */
function runs(given: Unweighed): string[] {
  const { wishes, chains, table, faceMm } = given;
  const broken = new Set<string>();
  const lines = measuredLines(chains);
  for (const wish of wishes.clearance) {
    const side = table.sides.find((s) => s.name === wish.side);
    if (!side) continue;
    for (const line of lines) {
      const nearest = nearestToSide(line, side, table, faceMm, rangeOf(wish, side));
      if (nearest && nearest.distanceMm < wish.atLeastMm - noticeMm) broken.add(line.run);
    }
  }
  const spans = wishes.keepFree.length > 0 ? measuredSpans(chains, faceMm) : [];
  for (const region of zoneRegions(wishes)) {
    for (const span of spans) if (lackOf(region, span, asMeasured) > noticeMm) broken.add(chains[span.chain].run);
  }
  for (const rule of given.spacingRules) {
    if (rule.kind !== 'spacing') continue;
    const [a, b] = rule.chains;
    if (a === b) {
      broken.add(chains[a].run);
      continue;
    }
    const near = distanceBetween(lines[a], lines[b]) < rule.atLeastMm - noticeMm;
    if (near) for (const c of rule.chains) broken.add(chains[c].run);
  }
  return [...broken];
}

/** Smallest clearance of the measured track to each side. */
function edges(given: Unweighed): { side: string; distanceMm: number }[] {
  const lines = measuredLines(given.chains);
  return given.table.sides.flatMap((side) => {
    const all = lines.flatMap((line) => nearestToSide(line, side, given.table, given.faceMm) ?? []);
    return all.length === 0 ? [] : [{ side: side.name, distanceMm: Math.min(...all.map((n) => n.distanceMm)) }];
  });
}

export const brokenAsItLies = { runs, edges };
