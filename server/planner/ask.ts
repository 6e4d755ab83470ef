import type { Preference } from '../contract/wishes.js';
import { brokenAsItLies } from './broken-as-it-lies.js';
import { type Case, type Clock, metMm, type Question } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import { type Lengths, solveLengths } from './solve-lengths.js';
import { solveQuestion } from './solve-question.js';

/** Ways to ask: the three preferences, and two that show what else could be done. */
export type Ask = Preference | 'slide-together' | 'take-up';

/**
 * The questions of one ask, in order; the next one is put only when the one before leaves a wish unmet. Runs that break
 * no wish lie as they should and are held; only when that leaves a wish unmet may they move too.
 */
function questionsOf(given: Case, ask: Ask): Question[] {
  const sure = sureQuestionsOf(given, ask);
  if (given.chains.every((c) => c.doubtful.size === 0)) return sure;
  return [...sure, ...sure.map((question) => ({ ...question, keepsDoubtful: false }))];
}

function sureQuestionsOf(given: Case, ask: Ask): Question[] {
  const everyRun = new Set(given.chains.map((c) => c.run));
  const none = new Set<string>();
  const broken = new Set(brokenAsItLies.runs(given));
  const all = { freeRuns: everyRun, placedRuns: none, gapByGap: false, keepsDoubtful: true };
  if (ask === 'largest-loop') return [{ ...all, prefer: ask }];
  if (ask === 'take-up') return [{ ...all, prefer: 'fewest-cuts' }];
  const prefer = ask === 'slide-together' ? 'fewest-cuts' : ask;
  const first = { prefer, freeRuns: broken, placedRuns: broken.size > 0 ? everyRun : none, keepsDoubtful: true };
  const questions: Question[] = [];
  if (ask !== 'slide-together') questions.push({ ...first, gapByGap: true });
  questions.push({ ...first, gapByGap: false });
  if (broken.size < everyRun.size) questions.push({ ...all, prefer });
  return questions;
}

/** The plan for one ask: of its questions' answers the first that lets the user down least. */
export async function planFor(given: Case, ask: Ask, clock: Clock): Promise<SolutionPlan | null> {
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

/** Solves; where the donors do not give the fillers after all, solves again with the cutting in the program. */
async function solveAndCut(
  given: Case,
  question: Question,
  clock: Clock,
  lengths: Lengths | null,
): Promise<SolutionPlan | null> {
  const solved = await solveQuestion(given, question, clock, lengths);
  if (solved === null) return null;
  if (solved.plan?.solution === solved.solution) return solved.plan;
  const deadlineMs = Math.max(clock.deadlineMs, performance.now() + leastMs);
  const again = await solveQuestion(given, { ...question, withDonors: true }, { ...clock, deadlineMs }, lengths);
  const plans = [again?.plan, solved.plan].flatMap((plan) => (plan ? [plan] : []));
  return plans.reduce<SolutionPlan | null>((a, b) => (a !== null && !isBetterPlan(b, a) ? a : b), null);
}

/** Time for the cutting, however little is left. */
const leastMs = 200;

/** Compares plans of one question that come from programs with different columns. */
function isBetterPlan(a: SolutionPlan, b: SolutionPlan): boolean {
  const score = ({ solution: s }: SolutionPlan) => {
    const order = s.question.prefer === 'least-change' ? [s.sections, s.cuts] : [s.cuts, s.sections];
    return [s.unmetMm, s.shorterMm, ...order];
  };
  const [scoreA, scoreB] = [score(a), score(b)];
  const at = scoreA.findIndex((value, i) => Math.abs(value - scoreB[i]) > metMm);
  return at >= 0 && scoreA[at] < scoreB[at];
}
