import type { PlanWithoutAlternatives } from '../contract/plan.js';
import { cureWords } from '../contract/plan-words.js';
import type { Stock } from '../contract/stock.js';
import { type Ask, planFor } from './ask.js';
import { countStock } from './count-stock.js';
import { cutDonors } from './cut-donors.js';
import { dot } from './plane-vectors.js';
import type { Case, Clock } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import { solveLengths } from './solve-lengths.js';
import type { Unmet } from './unmet.js';
import { type WrittenPlan, writePlan } from './write-plan.js';

/** A full section: what one more straight or donor is likely to be. Common practice, no source. */
const fullSectionMm = 254;
const halfSectionMm = 127;

/**
 * Says for each unmet wish what would cure it, with a number. Each cure is tried: the plan is made again with more
 * material, with a finer step, with a shorter filler allowed, with nothing that must stay; only what works is said. What
 * no length of any straight can meet is the table's or the curves' fault, and the sentence says by how much.
 */
export async function addCures(
  given: Case,
  ask: Ask,
  main: SolutionPlan,
  written: WrittenPlan,
  clock: Clock,
): Promise<PlanWithoutAlternatives> {
  const { plan, unmet } = written;
  if (unmet.length === 0) return plan;
  const cures = new Map<Unmet, string>();
  const left = () => unmet.filter((u) => !cures.has(u));
  const trials = [moreMaterial, finerStep, shorterFiller, nothingStays];
  const pointless = await onlyRoomHelps(given, main, clock);
  let outOfTime = false;
  for (const trial of trials) {
    if (left().length === 0) break;
    outOfTime ||= performance.now() > clock.deadlineMs;
    if (outOfTime) break;
    if (pointless && trial !== nothingStays) continue;
    const tried = trial(given);
    if (tried === null) continue;
    const other = await planFor(tried.given, ask, clock);
    if (other === null) continue;
    const still = writePlan(tried.given, other).unmet;
    const sentence = await tried.sentence(other);
    if (sentence === null) continue;
    for (const u of left()) if (!still.some((s) => s.wish === u.wish)) cures.set(u, sentence);
  }
  for (const u of left()) {
    const helps = pointless || u.kind === 'bent';
    cures.set(u, helps ? roomSentence(given, u, unmet) : outOfTime ? cureWords.outOfTime() : cureWords.noneFound());
  }
  return { ...plan, unmet: unmet.map((u) => ({ wish: u.wish, shortByMm: u.shortByMm, cure: cures.get(u) })) };
}

/** True when even straights of any length would leave as much unmet, and no gap is open for want of material. */
async function onlyRoomHelps(given: Case, main: SolutionPlan, clock: Clock): Promise<boolean> {
  const everyRun = new Set(given.chains.map((c) => c.run));
  const question = {
    prefer: main.solution.question.prefer,
    freeRuns: everyRun,
    placedRuns: new Set<string>(),
    gapByGap: false,
    keepsDoubtful: false,
  };
  const lengths = await solveLengths(given, question, clock);
  return lengths !== null && lengths.unmetMm > main.solution.unmetMm - 0.1;
}

interface Trial {
  readonly given: Case;
  readonly sentence: (plan: SolutionPlan) => Promise<string | null>;
}

const extraId = 'one more ';

function moreMaterial(given: Case): Trial {
  const longestMm = Math.max(fullSectionMm, ...given.stock.donors.map((d) => d.lengthMm));
  const extras = Array.from({ length: 6 }, (_, i) => ({ id: `${extraId}${i + 1}`, lengthMm: longestMm }));
  const more = [fullSectionMm, halfSectionMm];
  const straights = [...given.stock.straights, ...more.map((lengthMm) => ({ lengthMm, count: 4 }))];
  const stock: Stock = { ...given.stock, donors: [...given.stock.donors, ...extras], straights };
  return {
    given: { ...given, stock },
    sentence: async (plan) => {
      const needed = straightsBeyond(given.stock, plan);
      const donors = await donorsBeyond(given.stock, plan, longestMm);
      const parts = [];
      if (needed.length > 0) parts.push(cureWords.moreStraights(needed));
      if (donors) parts.push(cureWords.moreDonors(donors.count, donors.lengthMm));
      return parts.length === 0 ? null : parts.join(' Besides: ');
    },
  };
}

/** Straights that a plan uses and the stock does not hold. */
function straightsBeyond(stock: Stock, plan: SolutionPlan): { lengthMm: number; count: number }[] {
  const used = new Map<number, number>();
  for (const s of plan.segments.flatMap((p) => p.straights)) {
    if (s.source === 'stock') used.set(s.lengthMm, (used.get(s.lengthMm) ?? 0) + 1);
  }
  return [...used].flatMap(([lengthMm, count]) => {
    const there = stock.straights
      .filter((s) => Math.abs(s.lengthMm - lengthMm) < 1e-6)
      .reduce((n, s) => n + s.count, 0);
    return count > there ? [{ lengthMm, count: count - there }] : [];
  });
}

/** How many more donors the fillers of a plan need, and how long those must be at least. */
async function donorsBeyond(stock: Stock, plan: SolutionPlan, longestMm: number) {
  const pieces = plan.segments.flatMap((s) => s.fillers.map((f) => ({ id: f.id, lengthMm: f.lengthMm })));
  const options = { kerfMm: stock.kerfMm, reusableOffcutMm: stock.reusableOffcutMm };
  if (pieces.length === 0 || cutDonors(pieces, stock.donors, options) !== null) return null;
  const demands = pieces.map((p) => ({ lengthMm: p.lengthMm, count: 1 }));
  const least = await countStock(demands, longestMm, stock.kerfMm, 200);
  for (let count = Math.max(1, least.bound - stock.donors.length); count <= 6; count++) {
    const extras = (lengthMm: number) => Array.from({ length: count }, (_, i) => ({ id: `${extraId}${i}`, lengthMm }));
    const enough = (lengthMm: number) => cutDonors(pieces, [...stock.donors, ...extras(lengthMm)], options) !== null;
    if (!enough(longestMm)) continue;
    const marks = pieces.map((p) => p.lengthMm + stock.kerfMm).sort((a, b) => a - b);
    return { count, lengthMm: marks.find(enough) ?? longestMm };
  }
  return null;
}

function finerStep(given: Case): Trial {
  const stepMm = given.wishes.stepMm / 4;
  return {
    given: { ...given, wishes: { ...given.wishes, stepMm } },
    sentence: async () => cureWords.finerStep(stepMm),
  };
}

function shorterFiller(given: Case): Trial {
  const wishes = { ...given.wishes, shortestFillerMm: given.wishes.stepMm };
  return {
    given: { ...given, wishes },
    sentence: async (plan) => {
      const lengths = plan.segments.flatMap((s) => s.fillers.map((f) => f.lengthMm));
      const shortest = Math.min(...lengths);
      return shortest < given.wishes.shortestFillerMm ? cureWords.shorterFiller(shortest) : null;
    },
  };
}

function nothingStays(given: Case): Trial | null {
  const { stay } = given.wishes;
  if (stay.length === 0) return null;
  const names = stay.flatMap((s) => s.pieces.map((p) => `piece ${p} of ${s.run}`));
  return {
    given: { ...given, wishes: { ...given.wishes, stay: [] } },
    sentence: async () => cureWords.letMove(names),
  };
}

/** What no straight can give must come from the table, the zone or the curves. */
function roomSentence(given: Case, unmet: Unmet, all: readonly Unmet[]): string {
  if (unmet.kind === 'clearance') {
    return cureWords.roomAcross(given.wishes.clearance[unmet.index].side, shortAcross(given, unmet, all));
  }
  if (unmet.kind === 'on-table') return cureWords.roomAcross(given.table.sides[unmet.index].name, unmet.shortByMm);
  if (unmet.kind === 'keep-free') return cureWords.moveZone(given.wishes.keepFree[unmet.index].name, unmet.shortByMm);
  if (unmet.kind === 'spacing' || unmet.kind === 'apart') return cureWords.moreSpacing(unmet.shortByMm);
  if (unmet.kind === 'bent') return cureWords.bentGap();
  return cureWords.smallerBy(unmet.shortByMm);
}

/** Shortfalls of a side and of the sides that face it add up: what one gains the other loses. */
function shortAcross(given: Case, unmet: Unmet, all: readonly Unmet[]): number {
  const sideOf = (u: Unmet) => given.table.sides.find((s) => s.name === given.wishes.clearance[u.index].side);
  const own = sideOf(unmet);
  const bySide = new Map<string, number>();
  for (const u of all) {
    const side = u.kind === 'clearance' ? sideOf(u) : undefined;
    if (!own || !side || Math.abs(dot(own.inward, side.inward)) < 0.99) continue;
    bySide.set(side.name, Math.max(bySide.get(side.name) ?? 0, u.shortByMm));
  }
  return [...bySide.values()].reduce((a, b) => a + b, 0);
}
