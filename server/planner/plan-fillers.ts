import { throwIfCancelled } from '../base/cancel.js';
import { failed, ok, type Result } from '../base/result.js';
import type { Plan, PlanWithoutAlternatives } from '../contract/plan.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { Stock } from '../contract/stock.js';
import { type Preference, preferences, type Wishes } from '../contract/wishes.js';
import { brokenAsItLies } from './broken-as-it-lies.js';
import { chainsOf } from './chain.js';
import { addCures } from './cures.js';
import { extraWarnings } from './extra-warnings.js';
import { loadSolver } from './linear-program.js';
import type { Case, Clock, Question, Solution } from './question.js';
import { readSolution, type SolutionPlan } from './read-solution.js';
import { type Lengths, solveLengths, solveQuestion } from './solve-question.js';
import { spacingRules } from './spacing-rules.js';
import { tableShape } from './table-shape.js';
import { defaultSafetyMm, roomForTrains } from './train-room.js';
import { writePlan } from './write-plan.js';

export interface PlanOptions {
  /** The best plan found by then is given, with how far it may be from the best there is. Default 1.8 s. */
  readonly timeLimitMs?: number;
  readonly signal?: AbortSignal;
  /** How many alternatives to look for at most; default 3. */
  readonly alternatives?: number;
}

/**
 * Works out what to cut so that everything fits and closes. With no wish broken by the track as it lies, it closes what
 * is open and moves nothing; else the runs that break a wish may change.
 *
 * @example
 * const planned = await planFillers(report, wishes, stock);
 * if (planned.ok) console.log(planned.value.fillers.map((f) => f.label));
 *
 * @returns problems: nothing-measured (no runs), bad-field (nothing at hand to fill an open gap with). Wishes that cannot
 * be met are no problem: the plan says by how much and what would cure it.
 */
export async function planFillers(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  options: PlanOptions = {},
): Promise<Result<Plan, Problem>> {
  const given = caseOf(report, wishes, stock);
  if (given.chains.length === 0) return failed(problem('nothing-measured', {}));
  const lacking = nothingAtHand(given);
  if (lacking) return failed(lacking);
  await loadSolver();
  const limitMs = options.timeLimitMs ?? 1800;
  const startMs = performance.now();
  const clock = (share: number): Clock => ({ deadlineMs: startMs + limitMs * share, signal: options.signal });

  const main = await planFor(given, wishes.prefer, clock(0.75));
  if (main === null) return failed(problem('work-failed', { stage: 'planning' }));
  const written = writePlan(given, main);
  const plan = await addCures(given, main, written, clock(0.85));
  const alternatives: PlanWithoutAlternatives[] = [];
  for (const ask of otherAsks(wishes.prefer)) {
    throwIfCancelled(options.signal);
    if (
      alternatives.length >= (options.alternatives ?? alternativesAtMost) ||
      performance.now() > startMs + limitMs * 0.95
    )
      break;
    const other = await planFor(given, ask, clock(1));
    if (other === null || other.solution.unmetMm > main.solution.unmetMm + 0.05) continue;
    const candidate = writePlan(given, other).plan;
    if ([plan, ...alternatives].every((p) => differInKind(p, candidate))) {
      alternatives.push({ ...candidate, kind: ask, ...roomForTrains(given, other) });
    }
  }
  const warnings = [...plan.warnings, ...extraWarnings(given, main)];
  return ok({ ...plan, ...roomForTrains(given, main), warnings, alternatives });
}

/** Two or three, where they differ in kind. */
const alternativesAtMost = 3;

function caseOf(report: Report, wishes: Wishes, stock: Stock): Case {
  const chains = chainsOf(report);
  const table = tableShape(report);
  const faceMm = report.track.gaugeMm / 2 + report.track.headWidthMm;
  const safetyMm = wishes.safetyMm ?? defaultSafetyMm;
  const present = new Map<string, number>();
  const base = { report, chains, wishes, stock, table, faceMm, spacingRules: spacingRules(chains, wishes, faceMm) };
  for (const { side, distanceMm } of brokenAsItLies.edges(base)) present.set(side, distanceMm);
  return {
    ...base,
    edgeMm: (side, prefer) => Math.min(prefer === 'largest-loop' ? safetyMm : 0, present.get(side.name) ?? 0),
  };
}

/** Open gaps that are to be filled, and nothing to fill them with. */
function nothingAtHand(given: Case): Problem | null {
  const { wishes, stock, chains } = given;
  const open = chains.some((c) => c.stretches.some((s) => s.gaps.some((g) => g.open)));
  const straights = stock.straights.some((s) => s.count > 0);
  if (!open || !wishes.closeGaps || straights || stock.donors.length > 0 || wishes.allowFreed) return null;
  return problem('bad-field', {
    field: 'donors',
    why: 'the layout has open gaps, but the stock holds no donor to cut from and no spare straight',
  });
}

/** Ways to ask: the three preferences, and two that show what else could be done. */
type Ask = Preference | 'slide-together' | 'take-up';

/**
 * The questions of one ask, in order; the next one is put only when the one before leaves a wish unmet. Runs that break
 * no wish lie as they should and are held; only when that leaves a wish unmet may they move too.
 */
function questionsOf(given: Case, ask: Ask): Question[] {
  const everyRun = new Set(given.chains.map((c) => c.run));
  const none = new Set<string>();
  const broken = new Set(brokenAsItLies.runs(given));
  const all = { freeRuns: everyRun, placedRuns: none, gapByGap: false };
  if (ask === 'largest-loop') return [{ ...all, prefer: ask }];
  if (ask === 'take-up') return [{ ...all, prefer: 'fewest-cuts' }];
  const prefer = ask === 'slide-together' ? 'fewest-cuts' : ask;
  const first = { prefer, freeRuns: broken, placedRuns: broken.size > 0 ? everyRun : none };
  const questions: Question[] = [];
  if (ask !== 'slide-together') questions.push({ ...first, gapByGap: true });
  questions.push({ ...first, gapByGap: false });
  if (broken.size < everyRun.size) questions.push({ ...all, prefer });
  return questions;
}

/** The plan for one ask: of its questions' answers the first that lets the user down least. */
async function planFor(given: Case, ask: Ask, clock: Clock): Promise<SolutionPlan | null> {
  const questions = questionsOf(given, ask);
  let best: SolutionPlan | null = null;
  for (const [i, question] of questions.entries()) {
    const leftMs = clock.deadlineMs - performance.now();
    if (best !== null && leftMs < 50) break;
    const later = i < questions.length - 1;
    const share = { ...clock, deadlineMs: performance.now() + Math.max(100, later ? leftMs * 0.7 : leftMs) };
    const lengths = question.freeRuns.size > 0 ? await solveLengths(given, question, share) : null;
    if (later && lengths !== null && lengths.unmetMm > metMm) continue;
    const solved = await solveAndCut(given, question, share, lengths);
    if (solved && (best === null || solved.solution.unmetMm < best.solution.unmetMm - metMm)) best = solved;
    if (best && best.solution.unmetMm <= metMm) break;
  }
  return best;
}

/** Less than this unmet is rounding. */
const metMm = 0.01;

/** Solves; where the donors do not give the fillers after all, solves again with the cutting in the program. */
async function solveAndCut(
  given: Case,
  question: Question,
  clock: Clock,
  lengths: Lengths | null,
): Promise<SolutionPlan | null> {
  const solution: Solution | null = await solveQuestion(given, question, clock, lengths);
  if (solution === null) return null;
  const plan = readSolution(solution);
  if (plan !== null || question.withDonors) return plan;
  return solveAndCut(given, { ...question, withDonors: true }, { ...clock, deadlineMs: clock.deadlineMs + 500 }, null);
}

/** What else to ask for, likeliest to be of use first. */
function otherAsks(prefer: Preference): Ask[] {
  return ['slide-together', ...preferences.filter((p) => p !== prefer), 'take-up'];
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
