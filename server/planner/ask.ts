import type { OtherWay, Preference } from '../contract/wishes.js';
import { solveStructure, untouched } from './fixed-structure.js';
import { type Case, type Clock, metMm, type Posed, pose, type Question } from './question.js';
import { readSolution, type SolutionPlan } from './read-solution.js';
import { type Lengths, solveLengths } from './solve-lengths.js';
import { solveHeld, solveQuestion } from './solve-question.js';

/** Ways to ask: the three preferences, and two that show what else could be done. */
export type Ask = Preference | OtherWay;

/**
 * The questions of one ask, in order; the next one is put only when the one before leaves a wish unmet. Where shifting
 * whole runs is enough, no straight changes but to fill a gap. Else runs that break a wish may change; those that break
 * none lie as they should and are held, and only when that leaves a wish unmet may they change too.
 */
function questionsOf(given: Case, ask: Ask): Question[] {
  const sure = sureQuestionsOf(given, ask);
  if (given.chains.every((c) => c.doubtful.size === 0)) return sure;
  return sure.flatMap((question) => [question, { ...question, keepsDoubtful: false }]);
}

function sureQuestionsOf(given: Case, ask: Ask): Question[] {
  const everyRun = new Set(given.chains.map((c) => c.run));
  const none = new Set<string>();
  const { broken } = given;
  const all = { freeRuns: everyRun, placedRuns: none, gapByGap: false, keepsDoubtful: true };
  if (ask === 'largest-loop') return [{ ...all, prefer: ask }];
  if (ask === 'take-up') return [{ ...all, prefer: 'fewest-cuts' }];
  const prefer: Preference = ask === 'slide-together' ? 'fewest-cuts' : ask;
  const first = { prefer, freeRuns: broken, placedRuns: broken.size > 0 ? everyRun : none, keepsDoubtful: true };
  const questions: Question[] = [];
  const gapsInRow = given.chains.some((c) => c.stretches.some((s) => s.gaps.filter((g) => g.open).length > 1));
  const placed = { ...first, freeRuns: none, gapByGap: gapsInRow };
  if (ask === 'slide-together') return [{ ...placed, gapByGap: false }];
  if (broken.size > 0) questions.push(placed);
  if (gapsInRow) questions.push({ ...first, gapByGap: true });
  questions.push({ ...first, gapByGap: false });
  if (broken.size < everyRun.size) questions.push({ ...all, prefer });
  return questions;
}

/**
 * The plan for one ask: of its questions' answers the first that lets the user down least. What lengths alone leave
 * unmet, no sections can meet: such a question is put only when no freer one does better.
 */
export async function planFor(given: Case, ask: Ask, clock: Clock): Promise<SolutionPlan | null> {
  const questions = questionsOf(given, ask);
  const known = new Map<Question, Lengths | null>();
  const lengthsOf = async (question: Question, share: Clock): Promise<Lengths | null> => {
    const found = known.get(question);
    if (found !== undefined) return found;
    const lengths =
      question.freeRuns.size + question.placedRuns.size > 0 ? await solveLengths(given, question, share) : null;
    known.set(question, lengths);
    return lengths;
  };
  const freest = questions[questions.length - 1];
  const passedOver: Question[] = [];
  let best: SolutionPlan | null = null;
  for (const question of questions) {
    const leftMs = clock.deadlineMs - performance.now();
    if (best !== null && leftMs < 50) break;
    const part = question === freest ? 1 : 0.7;
    const share = { ...clock, deadlineMs: performance.now() + Math.max(100, leftMs * part) };
    const lengths = await lengthsOf(question, share);
    if (question !== freest && lengths !== null && lengths.unmetMm > metMm) {
      const least = await lengthsOf(freest, share);
      if (least === null || least.unmetMm < lengths.unmetMm - noticeMm) {
        passedOver.push(question);
        continue;
      }
    }
    const solved = await solveAndCut(given, question, share, lengths);
    if (solved && (best === null || solved.solution.unmetMm < best.solution.unmetMm - noticeMm)) best = solved;
    if (best && best.solution.unmetMm <= Math.max(noticeMm, lengths?.unmetMm ?? 0)) break;
  }
  // Sections do not always reach what lengths alone promised: a question with less freedom may have done better.
  for (const question of passedOver) {
    const lengths = known.get(question) ?? null;
    if (best === null || lengths === null || lengths.unmetMm > best.solution.unmetMm - noticeMm) continue;
    const deadlineMs = Math.max(clock.deadlineMs, performance.now() + leastMs);
    const solved = await solveAndCut(given, question, { ...clock, deadlineMs }, lengths);
    if (solved && solved.solution.unmetMm < best.solution.unmetMm - noticeMm) best = solved;
  }
  return best ?? planAsItLies(given, freest, clock);
}

/** What there is when the time did not suffice for anything else: nothing moves, open gaps are filled if they can be. */
async function planAsItLies(given: Case, question: Question, clock: Clock): Promise<SolutionPlan | null> {
  const none = new Set<string>();
  const posed = pose(given, { ...question, freeRuns: none, placedRuns: none });
  const patient = { ...clock, deadlineMs: performance.now() + patienceMs };
  for (const solve of [solveHeld, solveUntouched]) {
    const solution = await solve(posed, patient);
    const open = [{ level: 'wishes', value: solution?.unmetMm ?? 0, bound: 0 }];
    const plan = solution === null ? null : readSolution({ ...solution, open });
    if (plan !== null) return plan;
  }
  return null;
}

function solveUntouched(posed: Posed, clock: Clock) {
  return solveStructure(posed, untouched(posed), clock);
}

const patienceMs = 5000;

/** Less than this unmet is rounding. */
const noticeMm = 0.01;

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

/** Time for the cutting, or for a question with little freedom, however little is left. */
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
