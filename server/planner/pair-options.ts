import { type DonorAtHand, fitsDonors } from './cut-donors.js';
import type { FillerModel } from './filler-model.js';
import type { HeldOption } from './held-options.js';
import type { Segment } from './layout-parts.js';
import { dot } from './plane-vectors.js';

/** Two segments of one loop that run in opposite directions, and how much longer both may become at most. */
export interface OppositePair {
  readonly segments: readonly [Segment, Segment];
  readonly mostMm: number;
}

/** Segments of a loop that have exactly one other one running against them, and none with them. */
export function oppositePairs(segments: readonly Segment[], mostMm: (segment: Segment) => number): OppositePair[] {
  const pairs: OppositePair[] = [];
  for (const a of segments) {
    const parallel = segments.filter(
      (b) => b.chain === a.chain && Math.abs(dot(a.stretch.along, b.stretch.along)) > 0.999,
    );
    const b = parallel.find((s) => s !== a);
    if (parallel.length !== 2 || !b || b.index < a.index || dot(a.stretch.along, b.stretch.along) > 0) continue;
    pairs.push({ segments: [a, b], mostMm: Math.min(mostMm(a), mostMm(b)) });
  }
  return pairs;
}

interface Choice {
  readonly option: HeldOption;
  /** Change of length without fillers. */
  readonly bareMm: number;
  readonly sections: number;
}

interface PairChoice {
  readonly options: readonly [HeldOption, HeldOption];
  readonly changeMm: number;
  readonly fillersMm: readonly number[];
  readonly cuts: number;
  readonly sections: number;
}

/** What is left of the stock while one pair after the other takes from it. */
export interface StockLeft {
  readonly straights: readonly number[];
  readonly fillersMm: readonly number[];
}

/** What joints may take off what sections give; far above any allowance. */
const closeEnoughMm = 50;

/** More compositions of one segment than this are not looked at. */
const choicesAtMost = 400;

/**
 * The compositions of two opposite segments that make both of them longer by the same length, as long as may be; of
 * those as long within a step the one with the fewest cuts and changed sections.
 * @returns null when nothing at hand does it
 */
export function longestPair(model: FillerModel, pair: OppositePair, left: StockLeft): (PairChoice & StockLeft) | null {
  const { stock, wishes } = model.options;
  const [first, second] = pair.segments.map((segment) => choicesOf(model, segment, left, pair.mostMm));
  const found: PairChoice[] = [];
  for (const a of first) for (const b of second) found.push(...together(model, pair, a, b));
  found.sort((a, b) => b.changeMm - a.changeMm);
  const donors: readonly DonorAtHand[] = stock.donors;
  let best: (PairChoice & StockLeft) | null = null;
  for (const choice of found) {
    if (best !== null && choice.changeMm < best.changeMm - wishes.stepMm) break;
    if (best !== null && !isSimpler(choice, best)) continue;
    const straights = left.straights.map((n, k) => n - choice.options[0].straights[k] - choice.options[1].straights[k]);
    const fillersMm = [...left.fillersMm, ...choice.fillersMm];
    if (straights.some((n) => n < 0) || !fitsDonors(fillersMm, donors, stock.kerfMm)) continue;
    best = { ...choice, straights, fillersMm };
  }
  return best;
}

function isSimpler(a: PairChoice, b: PairChoice): boolean {
  return a.cuts !== b.cuts ? a.cuts < b.cuts : a.sections < b.sections;
}

/** Two compositions made equally long: with no filler, with one in either, or with one in both. */
function together(model: FillerModel, pair: OppositePair, a: Choice, b: Choice): PairChoice[] {
  const { stepMm, closingMm } = model.options.wishes;
  const sections = a.sections + b.sections;
  const changeOf = (mm: number, fillersMm: number[], fillers: [number, number]): PairChoice => ({
    options: [
      { ...a.option, fillers: fillers[0] },
      { ...b.option, fillers: fillers[1] },
    ],
    changeMm: mm,
    fillersMm,
    cuts: fillersMm.length,
    sections: sections + fillersMm.length,
  });
  const made: PairChoice[] = [];
  const tolerance = closingMm * 0.9;
  if (Math.abs(a.bareMm - b.bareMm) <= tolerance && Math.max(a.bareMm, b.bareMm) <= pair.mostMm + 0.01) {
    made.push(changeOf(Math.min(a.bareMm, b.bareMm), [], [0, 0]));
  }
  const filler = (needMm: number): number | null => fillerOf(model, needMm);
  const toB = b.bareMm <= pair.mostMm + 0.01 ? filler(b.bareMm - a.bareMm) : null;
  if (toB !== null) made.push(changeOf(b.bareMm, [toB], [1, 0]));
  const toA = a.bareMm <= pair.mostMm + 0.01 ? filler(a.bareMm - b.bareMm) : null;
  if (toA !== null) made.push(changeOf(a.bareMm, [toA], [0, 1]));
  const inA = filler(pair.mostMm - stepMm / 2 - a.bareMm);
  const inB = filler(pair.mostMm - stepMm / 2 - b.bareMm);
  if (inA !== null && inB !== null && Math.abs(a.bareMm + inA - b.bareMm - inB) <= tolerance) {
    made.push(changeOf(Math.min(a.bareMm + inA, b.bareMm + inB), [inA, inB], [1, 1]));
  }
  return made;
}

/** The filler of whole steps nearest to a length; null where it is too short or longer than any donor gives. */
function fillerOf(model: FillerModel, needMm: number): number | null {
  const { wishes, stock } = model.options;
  const longestMm = Math.max(0, ...stock.donors.map((d) => d.lengthMm)) - stock.kerfMm;
  const mm = Math.round(needMm / wishes.stepMm) * wishes.stepMm;
  return mm < wishes.shortestFillerMm - 1e-6 || mm > longestMm ? null : mm;
}

function choicesOf(model: FillerModel, segment: Segment, left: StockLeft, mostMm: number): Choice[] {
  const allowance = model.options.wishes.jointAllowanceMm;
  const lengths = segment.pieces.map((k) => segment.stretch.lengths[k].value);
  const choices: Choice[] = [];
  const put = (kind: number, kept: readonly number[], straights: readonly number[], madeMm: number, count: number) => {
    const bareMm = madeMm + allowance * (count + segment.jointsBeside) - segment.nowMm;
    if (bareMm > mostMm + 0.01) return;
    if (kind === model.kinds.length) {
      const sections = lengths.length - kept.length + count - kept.length;
      choices.push({ option: { kept, straights, fillers: 0 }, bareMm, sections });
      return;
    }
    const { lengthMm, source } = model.kinds[kind];
    const most = source === 'layout' || source === 'donor' ? 0 : left.straights[kind];
    for (let n = 0; n <= most; n++) {
      if (madeMm + n * lengthMm - segment.nowMm > mostMm + closeEnoughMm) break;
      put(kind + 1, kept, [...straights, n], madeMm + n * lengthMm, count + n);
    }
  };
  for (const kept of keptSets(lengths)) {
    put(
      0,
      kept,
      [],
      kept.reduce((mm, i) => mm + lengths[i], 0),
      kept.length,
    );
  }
  return choices.sort((a, b) => b.bareMm - a.bareMm).slice(0, choicesAtMost);
}

/** Which pieces stay: all of them, all but one, all but two. Larger loops take little out. */
function keptSets(lengths: readonly number[]): number[][] {
  const all = lengths.map((_, i) => i);
  const without = all.map((out) => all.filter((i) => i !== out));
  const withoutTwo = all.flatMap((out) =>
    without[out].filter((i) => i > out).map((i) => without[out].filter((k) => k !== i)),
  );
  const seen = new Set<string>();
  return [all, ...without, ...withoutTwo].filter((kept) => {
    const key = kept
      .map((i) => lengths[i].toFixed(3))
      .sort()
      .join();
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}
