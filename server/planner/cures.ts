import type { PlanWithoutAlternatives } from '../contract/plan.js';
import type { Case, Clock } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import type { WrittenPlan } from './write-plan.js';

export async function addCures(
  _given: Case,
  _plan: SolutionPlan,
  written: WrittenPlan,
  _clock: Clock,
): Promise<PlanWithoutAlternatives> {
  return written.plan;
}
