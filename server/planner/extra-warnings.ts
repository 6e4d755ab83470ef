import { jointName } from '../contract/joint-names.js';
import type { PlanWithoutAlternatives } from '../contract/plan.js';
import { planWarning } from '../contract/plan-words.js';
import { halfWidth95 } from '../units/estimate.js';
import { nearestToSide, rangeOf } from './edge-clearance.js';
import { headingMisclosure } from './misclosure.js';
import { clearanceInRange, plannedLines, predictClearances } from './predict.js';
import type { Case } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import type { TrackLine } from './track-line.js';
import { defaultSafetyMm } from './train-room.js';
import { coveredAt, noticeMm } from './unmet.js';

/** A heading that misses by more than this is said: a joint of loose track takes up less without being noticed. */
const noticeKinkRad = (0.6 * Math.PI) / 180;

/** Warnings about the layout itself: rails near the edge, headings that do not close, track that was not seen. */
export function extraWarnings(given: Case, plan: SolutionPlan): PlanWithoutAlternatives['warnings'] {
  const warnings: PlanWithoutAlternatives['warnings'] = [];
  const safetyMm = given.wishes.safetyMm ?? defaultSafetyMm;
  const lines = plannedLines(plan);
  for (const line of lines) {
    for (const side of given.table.sides) {
      const nearest = nearestToSide(line, side, given.table, given.faceMm);
      if (nearest === null || nearest.distanceMm >= safetyMm) continue;
      const data = { run: line.run, side: side.name, distanceMm: nearest.distanceMm, safetyMm };
      warnings.push(planWarning('near-the-edge', data));
    }
  }
  const barely = barelyMet(given, plan, lines);
  if (barely.length > 0) warnings.push(planWarning('barely-met', { sides: barely }));
  for (const chain of given.chains) {
    // Curves that were not seen are missing from the sum.
    if (!chain.closed || chain.bentGaps.length > 0) continue;
    const missRad = headingMisclosure(chain.sweepRad);
    const kinkRad = missRad / chain.jointCount;
    if (Math.abs(kinkRad) > noticeKinkRad) {
      const degrees = (missRad * 180) / Math.PI;
      const kinkDegrees = (kinkRad * 180) / Math.PI;
      warnings.push(planWarning('heading-misclosure', { run: chain.run, degrees, kinkDegrees }));
    }
  }
  for (const chain of given.chains) {
    for (const gap of chain.bentGaps) {
      const degrees = (Math.abs(gap.kinkRad) * 180) / Math.PI;
      const covered = coveredAt(given.report, chain.run, gap.at);
      warnings.push(
        planWarning('bent-gap', {
          run: chain.run,
          joint: jointName(given.report, gap.joint),
          degrees,
          besideMm: gap.besideMm,
          covered,
        }),
      );
    }
  }
  warnings.push(...doubtfulTakenOut(given, plan));
  const hidden = new Set(given.report.notSeen.map((n) => n.run));
  for (const run of hidden)
    if (given.chains.some((c) => c.run === run)) warnings.push(planWarning('hidden-track', { run }));
  return warnings;
}

/** Wishes for a clearance that are met by less than the ± with which that clearance is known. */
function barelyMet(given: Case, plan: SolutionPlan, lines: readonly TrackLine[]) {
  const predicted = predictClearances(given, plan, lines);
  return given.wishes.clearance.flatMap((wish) => {
    const known = predicted.find((p) => p.side.name === wish.side);
    if (known === undefined) return [];
    const leastMm = clearanceInRange(given, lines, known.side, rangeOf(wish, known.side)) ?? Infinity;
    const [spareMm, half95Mm] = [leastMm - wish.atLeastMm, halfWidth95(known.distance)];
    return spareMm > -noticeMm && spareMm < half95Mm
      ? [{ side: wish.side, spareMm: Math.max(0, spareMm), half95Mm }]
      : [];
  });
}

/** Sections taken out of which an end was not seen: what is put in their place is as long as they were taken to be. */
function doubtfulTakenOut(given: Case, plan: SolutionPlan): PlanWithoutAlternatives['warnings'] {
  return plan.segments.flatMap((part) => {
    const { stretch, pieces } = part.segment;
    const doubtful = given.chains.find((c) => c.run === stretch.run)?.doubtful;
    return pieces.flatMap((k) => {
      const piece = stretch.pieces[k];
      if (!part.remade || part.kept.includes(k) || !doubtful?.has(piece)) return [];
      return [planWarning('check-section', { run: stretch.run, piece, lengthMm: stretch.lengths[k].value })];
    });
  });
}
