import type { PlanWithoutAlternatives } from '../contract/plan.js';
import { planWarning } from '../contract/plan-words.js';
import { headingMisclosure } from './misclosure.js';
import { plannedLines, predictClearances } from './predict.js';
import type { Case } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import { defaultSafetyMm } from './train-room.js';

/** A heading that misses by more than this is said: a joint of loose track takes up less without being noticed. */
const noticeKinkRad = (0.6 * Math.PI) / 180;

/** Warnings about the layout itself: rails near the edge, headings that do not close, track that was not seen. */
export function extraWarnings(given: Case, plan: SolutionPlan): PlanWithoutAlternatives['warnings'] {
  const warnings: PlanWithoutAlternatives['warnings'] = [];
  const safetyMm = given.wishes.safetyMm ?? defaultSafetyMm;
  for (const p of predictClearances(given, plan, plannedLines(plan))) {
    if (p.distance.value >= safetyMm) continue;
    const data = { run: p.run, side: p.side.name, distanceMm: p.distance.value, safetyMm };
    warnings.push(planWarning('near-the-edge', data));
  }
  for (const chain of given.chains) {
    if (!chain.closed) continue;
    const missRad = headingMisclosure(chain.sweepRad);
    const kinkRad = missRad / chain.jointCount;
    if (Math.abs(kinkRad) > noticeKinkRad) {
      const degrees = (missRad * 180) / Math.PI;
      const kinkDegrees = (kinkRad * 180) / Math.PI;
      warnings.push(planWarning('heading-misclosure', { run: chain.run, degrees, kinkDegrees }));
    }
  }
  const hidden = new Set(given.report.notSeen.map((n) => n.run));
  for (const run of hidden)
    if (given.chains.some((c) => c.run === run)) warnings.push(planWarning('hidden-track', { run }));
  return warnings;
}
