import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import type { Stock } from '../../server/contract/stock.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { checkDonors, checkFillers, checkStretches } from './check-plan-sections.js';
import { checkClearances, checkClosing, checkSpacings, checkStaying, checkZones } from './check-plan-wishes.js';
import { layOut } from './lay-out-plan.js';

/**
 * Checks a plan from scratch, sharing no code with the planner: lays every run out again from the report's pieces with
 * the plan's stretch lengths and shift, piece by piece, and looks at it by dense sampling.
 * @param sideToleranceMm how far a predicted clearance may be from that of straight rows; joints that are askew need more
 * @returns everything that is wrong, as sentences; empty when the plan is right
 */
export function checkPlan(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  plan: PlanWithoutAlternatives,
  sideToleranceMm = 0.1,
): string[] {
  const faults: string[] = [];
  const say = (fault: string) => faults.push(fault);
  checkStretches(report, wishes, stock, plan, say);
  checkFillers(wishes, plan, say);
  checkDonors(stock, plan, say);
  const tracks = report.runs.map((run) => layOut(report, run, plan));
  for (const track of tracks) checkClosing(wishes, plan, track, say);
  checkClearances(report, wishes, plan, tracks, sideToleranceMm, say);
  checkZones(report, wishes, plan, tracks, say);
  checkSpacings(wishes, plan, tracks, say);
  checkStaying(wishes, tracks, sideToleranceMm, say);
  return faults;
}
