import { throwIfCancelled } from '../base/cancel.js';
import { failed, ok, type Result } from '../base/result.js';
import { findReadings, reportByRule } from '../contract/gap-readings.js';
import type { Plan, PlanWithoutAlternatives } from '../contract/plan.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { Stock } from '../contract/stock.js';
import { otherWays, type Preference, preferences, type Wishes } from '../contract/wishes.js';
import { type Ask, planFor } from './ask.js';
import { brokenAsItLies } from './broken-as-it-lies.js';
import { chainsOf } from './chain.js';
import { addCures } from './cures.js';
import { extraWarnings } from './extra-warnings.js';
import { loadSolver } from './linear-program.js';
import { type Case, type Clock, metMm } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import { withRoomToRun } from './room-to-run.js';
import { ruleWarnings } from './rule-warnings.js';
import { spacingRules } from './spacing-rules.js';
import { tableShape } from './table-shape.js';
import { defaultSafetyMm, roomForTrains } from './train-room.js';
import { type WrittenPlan, writePlan } from './write-plan.js';

export interface PlanOptions {
  /**
   * The best plan found by then is given, with how far it may be from the best there is. Default 1.7 s. A plan that lacks
   * something is given four times as long where other programs keep the computer busy.
   */
  readonly timeLimitMs?: number;
  readonly signal?: AbortSignal;
  /** How many alternatives to look for at most; default 3. */
  readonly alternatives?: number;
}

/**
 * Works out what to cut so that everything fits and closes. With no wish broken by the track as it lies, it closes what
 * is open and moves nothing; else the runs that break a wish may change. Room for the longest car, where one is given, is
 * wished for more than anything else. Where a rule was laid in an open gap, rule and photo count together,
 * or the rule alone where both contradict each other, which the plan says.
 *
 * @example
 * const planned = await planFillers(report, wishes, stock);
 * if (planned.ok) console.log(planned.value.fillers.map((f) => f.label));
 *
 * @returns problems: nothing-measured (no runs), no-donors (nothing at hand to fill an open gap with). Wishes that cannot
 * be met are no problem: the plan says by how much and what would cure it.
 */
export async function planFillers(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  options: PlanOptions = {},
): Promise<Result<Plan, Problem>> {
  const found = findReadings(report, wishes.gapReadings ?? []);
  const given = caseOf(reportByRule(report, found.ruled), wishes, stock, found.ruled);
  const ruled = ruleWarnings(report, found);
  if (given.chains.length === 0) return failed(problem('nothing-measured', {}));
  const lacking = nothingAtHand(given);
  if (lacking) return failed(lacking);
  await loadSolver();
  let limitMs = options.timeLimitMs ?? 1700;
  let startMs = performance.now();
  const startCpu = process.cpuUsage();
  const clock = (share: number): Clock => ({ deadlineMs: startMs + limitMs * share, signal: options.signal });

  let asked = await planAsked(given, clock(0.75));
  if (asked !== null && isStoppedShort(asked.plan) && isStarved(startMs, startCpu)) {
    limitMs *= moreWhereStarved;
    asked = (await planAsked(given, clock(0.75))) ?? asked;
  }
  if (asked === null) return failed(problem('work-failed', { stage: 'planning' }));
  const roomFrom = performance.now();
  const roomClock = (): Clock => ({ deadlineMs: performance.now() + limitMs * roomShare, signal: options.signal });
  const { ask } = asked;
  const again = (roomy: Case, time: Clock) => planFor(roomy, ask, time);
  const roomy = await withRoomToRun(given, asked.plan, again, roomClock);
  const main = roomy.plan;
  startMs += performance.now() - roomFrom;
  const written = writePlan(given, main);
  const plan: Solved = { ask, solution: main, written };
  const others: Solved[] = [];
  for (const otherAsk of otherAsks(ask)) {
    throwIfCancelled(options.signal);
    if (others.length >= (options.alternatives ?? alternativesAtMost) || performance.now() > startMs + limitMs * 0.95)
      break;
    const leftMs = startMs + limitMs - performance.now();
    const part = { deadlineMs: performance.now() + leftMs * 0.6, signal: options.signal };
    const other = await planFor(roomy.given, otherAsk, part);
    if (other === null || other.solution.unmetMm > main.solution.unmetMm + 0.05) continue;
    const candidate = writePlan(given, other);
    if (!isWorthShowing(otherAsk, ask, candidate.plan, written.plan)) continue;
    if ([plan, ...others].every((p) => differInKind(p.written.plan, candidate.plan)))
      others.push({ ask: otherAsk, solution: other, written: candidate });
  }
  const chosen = leastBroken(plan, others);
  const deadlineMs = performance.now() + leastCureMs;
  const cured = await addCures(roomy.given, chosen.ask, chosen.solution, chosen.written, { ...clock(1), deadlineMs });
  const whole = (one: Solved, written: PlanWithoutAlternatives): PlanWithoutAlternatives => {
    const warnings = [...ruled, ...written.warnings];
    return { ...written, kind: one.ask, ...roomForTrains(given, one.solution), warnings };
  };
  const answer = whole(chosen, cured);
  return ok({
    ...answer,
    warnings: [...answer.warnings, ...extraWarnings(given, chosen.solution)],
    alternatives: others.filter((other) => other !== chosen).map((other) => whole(other, other.written.plan)),
  });
}

interface Solved {
  readonly ask: Ask;
  readonly solution: SolutionPlan;
  readonly written: WrittenPlan;
}

/** No preference is worth a broken wish: an alternative that breaks clearly less becomes the plan. */
function leastBroken(plan: Solved, others: readonly Solved[]): Solved {
  const unmetMm = ({ written }: Solved) => written.unmet.reduce((mm, u) => mm + u.shortByMm, 0);
  const least = others.reduce((a, b) => (unmetMm(b) < unmetMm(a) ? b : a), plan);
  return unmetMm(least) < unmetMm(plan) - clearlyMm ? least : plan;
}

/** Less than this more or less unmet is no reason to put another plan first. */
const clearlyMm = 0.5;

/** Each time that a plan is made anew because the longest car would hit something, it has this share of the time. */
const roomShare = 0.5;

interface Asked {
  readonly ask: Ask;
  readonly plan: SolutionPlan;
}

/** The plan for the way that was taken, where it meets all that the preference meets; else the preference's. */
async function planAsked(given: Case, clock: Clock): Promise<Asked | null> {
  const { way, prefer } = given.wishes;
  const taken = way === undefined ? null : await planFor(given, way, clock);
  if (way !== undefined && taken !== null && taken.solution.unmetMm <= metMm) return { ask: way, plan: taken };
  const preferred = await planFor(given, prefer, clock);
  if (preferred === null) return way === undefined || taken === null ? null : { ask: way, plan: taken };
  const isNoWorse = taken !== null && taken.solution.unmetMm <= preferred.solution.unmetMm + metMm;
  return way !== undefined && taken !== null && isNoWorse
    ? { ask: way, plan: taken }
    : { ask: prefer, plan: preferred };
}

/** What would help is looked for this long, however late it is: without it a person does not know what to do. */
const leastCureMs = 800;

/** Where other programs keep the computer busy a plan is given so many times as long, if it lacks something. */
const moreWhereStarved = 4;

/** Share of the time that passed in which a program that is not held up has a processor, at least. */
const ownShare = 0.85;

/** Whether a plan leaves something unmet that a longer search might have met. */
function isStoppedShort({ solution }: SolutionPlan): boolean {
  return solution.unmetMm > metMm && solution.open.length > 0;
}

function isStarved(sinceMs: number, sinceCpu: NodeJS.CpuUsage): boolean {
  const { user, system } = process.cpuUsage(sinceCpu);
  return (user + system) / 1000 < ownShare * (performance.now() - sinceMs);
}

/** Two or three, where they differ in kind. */
const alternativesAtMost = 3;

function caseOf(report: Report, wishes: Wishes, stock: Stock, byRule: Case['byRule']): Case {
  const chains = chainsOf(report);
  const table = tableShape(report);
  const faceMm = report.track.gaugeMm / 2 + report.track.headWidthMm;
  const safetyMm = wishes.safetyMm ?? defaultSafetyMm;
  const present = new Map<string, number>();
  const rules = spacingRules(chains, wishes, faceMm);
  const base = { report, byRule, chains, wishes, stock, table, faceMm, spacingRules: rules };
  for (const { side, distanceMm } of brokenAsItLies.edges(base)) present.set(side, distanceMm);
  return {
    ...base,
    broken: new Set(brokenAsItLies.runs(base)),
    edgeMm: (side) => Math.min(0, present.get(side.name) ?? 0),
    safetyMm: (side, prefer) => Math.min(prefer === 'largest-loop' ? safetyMm : 0, present.get(side.name) ?? 0),
  };
}

/** Open gaps that are to be filled, and nothing to fill them with. */
function nothingAtHand(given: Case): Problem | null {
  const { wishes, stock, chains } = given;
  const open = chains.some((c) => c.stretches.some((s) => s.gaps.some((g) => g.open)));
  const straights = stock.straights.some((s) => s.count > 0);
  if (!open || !wishes.closeGaps || straights || stock.donors.length > 0 || wishes.allowFreed) return null;
  return problem('no-donors', {});
}

/** What else to ask for: what is soon answered comes first, and the largest loop, which takes what time there is, last. */
function otherAsks(asked: Ask): Ask[] {
  const all: Ask[] = [...otherWays, ...[...preferences].sort(largestLast)];
  return all.filter((ask) => ask !== asked);
}

/** A loop that is longer by less than this is no other loop. */
const noticeLongerMm = 12;

/** An alternative gains something that the plan itself has not: fewer cuts, fewer changed sections, a longer track. */
function isWorthShowing(
  ask: Ask,
  asked: Ask,
  candidate: PlanWithoutAlternatives,
  plan: PlanWithoutAlternatives,
): boolean {
  // Whoever took another way has to find the way back.
  if (ask === 'fewest-cuts' && isOtherWay(asked)) return true;
  if (ask === 'largest-loop') return addedMm(candidate) > addedMm(plan) + noticeLongerMm;
  const [cuts, sections] = [candidate.cuts ?? 0, candidate.changedSections ?? 0];
  if (ask === 'least-change') return sections < (plan.changedSections ?? 0);
  return cuts < (plan.cuts ?? 0);
}

function isOtherWay(ask: Ask): boolean {
  return otherWays.some((way) => way === ask);
}

function addedMm(plan: PlanWithoutAlternatives): number {
  return plan.stretches.reduce((mm, s) => mm + s.thenMm - s.nowMm, 0);
}

function largestLast(a: Preference, b: Preference): number {
  return Number(a === 'largest-loop') - Number(b === 'largest-loop');
}

/** Do two plans differ in what is done, not only in lengths? */
function differInKind(a: PlanWithoutAlternatives, b: PlanWithoutAlternatives): boolean {
  return kindOf(a) !== kindOf(b);
}

function kindOf(plan: PlanWithoutAlternatives): string {
  const stretches = plan.stretches
    .filter((s) => Math.abs(s.thenMm - s.nowMm) > 0.01 || s.made.some((m) => 'filler' in m || m.source === 'stock'))
    .map((s) => {
      const sections = s.made.map((m) => ('filler' in m ? 'filler' : `${m.source}${m.lengthMm.toFixed(0)}×${m.count}`));
      return `${s.run}:${s.pieces[0]}:${sections.sort().join('+')}`;
    });
  return stretches.sort().join(' ');
}
