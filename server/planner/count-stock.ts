import { type Column, LinearProgram, type Term } from './linear-program.js';

/** A width and how many pieces of it are wanted. */
export interface Demand {
  readonly lengthMm: number;
  readonly count: number;
}

export interface StockCount {
  /** Stock pieces of the best cutting found. */
  readonly count: number;
  /** No cutting can do with fewer. */
  readonly bound: number;
  /** Each pattern: how many pieces of each demand, and how often it is cut. */
  readonly patterns: readonly { readonly pieces: readonly number[]; readonly times: number }[];
}

/**
 * Fewest equal stock pieces for a list of demands, by column generation (Gilmore and Gomory, Operations Research 9 (1961)
 * 849 and 11 (1963) 863): a linear program over cutting patterns, new patterns from a bounded knapsack, then the whole
 * numbers over the patterns found. A kerf is taken between pieces: pieces l and kerf k in stock L are pieces l + k in L + k.
 */
export async function countStock(
  demands: readonly Demand[],
  stockMm: number,
  kerfMm: number,
  timeLimitMs = 10_000,
): Promise<StockCount> {
  const room = stockMm + kerfMm;
  const sizes = demands.map((d) => d.lengthMm + kerfMm);
  const counts = demands.map((d) => d.count);
  if (sizes.some((s) => s > room + 1e-9)) return { count: Infinity, bound: Infinity, patterns: [] };
  const patterns = startPatterns(sizes, counts, room);
  let bound = 0;
  for (let round = 0; round < 1000; round++) {
    const prices = await pricesOf(patterns, counts, timeLimitMs);
    const { pattern, value } = bestPattern(sizes, counts, prices.prices, room);
    bound = Math.max(bound, prices.total / Math.max(1, value));
    if (value <= 1 + 1e-7) break;
    patterns.push(pattern);
  }
  const whole = await wholePatterns(patterns, counts, Math.ceil(bound - 1e-6), timeLimitMs);
  return { ...whole, bound: Math.ceil(bound - 1e-6) };
}

/** First-fit patterns by falling length, and one pattern for each demand alone. */
function startPatterns(sizes: readonly number[], counts: readonly number[], room: number): number[][] {
  const patterns = sizes.map((size, i) =>
    sizes.map((_, k) => (k === i ? Math.min(counts[i], Math.floor(room / size + 1e-9)) : 0)),
  );
  const order = sizes.map((_, i) => i).sort((a, b) => sizes[b] - sizes[a]);
  const bins: { left: number; pieces: number[] }[] = [];
  for (const i of order) {
    for (let n = 0; n < counts[i]; n++) {
      let bin = bins.find((b) => b.left >= sizes[i] - 1e-9);
      if (!bin) {
        bin = { left: room, pieces: sizes.map(() => 0) };
        bins.push(bin);
      }
      bin.left -= sizes[i];
      bin.pieces[i]++;
    }
  }
  const seen = new Set(patterns.map(String));
  for (const bin of bins) {
    if (!seen.has(String(bin.pieces))) patterns.push(bin.pieces);
    seen.add(String(bin.pieces));
  }
  return patterns;
}

/** Worth of one piece of each demand at the present patterns: the dual of the covering program, solved as it stands. */
async function pricesOf(patterns: readonly number[][], counts: readonly number[], timeLimitMs: number) {
  const program = new LinearProgram();
  const columns = counts.map(() => program.continuous(0, 1));
  for (const pattern of patterns) {
    const terms = pattern.flatMap((n, i): Term[] => (n > 0 ? [[n, columns[i]]] : []));
    program.atMost({ terms, constant: 0 }, 1);
  }
  const worth = { terms: columns.map((c, i): Term => [-counts[i], c]), constant: 0 };
  const answer = await program.least(worth, { timeLimitMs });
  return { prices: columns.map((c) => answer.values[c]), total: -answer.objective };
}

/** The pattern of greatest worth: bounded knapsack by depth-first search in the order of worth for length. */
function bestPattern(sizes: readonly number[], counts: readonly number[], prices: readonly number[], room: number) {
  const order = sizes.map((_, i) => i).filter((i) => prices[i] > 1e-12);
  order.sort((a, b) => prices[b] / sizes[b] - prices[a] / sizes[a]);
  const now = sizes.map(() => 0);
  let best = { pattern: [...now], value: 0 };
  const descend = (at: number, left: number, value: number): void => {
    if (value > best.value + 1e-12) best = { pattern: [...now], value };
    if (at === order.length) return;
    const i = order[at];
    if (value + (left * prices[i]) / sizes[i] <= best.value + 1e-12) return;
    for (let n = Math.min(counts[i], Math.floor(left / sizes[i] + 1e-9)); n >= 0; n--) {
      now[i] = n;
      descend(at + 1, left - n * sizes[i], value + n * prices[i]);
    }
    now[i] = 0;
  };
  descend(0, room, 0);
  return best;
}

async function wholePatterns(patterns: number[][], counts: readonly number[], bound: number, timeLimitMs: number) {
  const program = new LinearProgram();
  const columns: Column[] = patterns.map(() => program.whole(0, 1e6));
  counts.forEach((count, i) => {
    program.atLeast({ terms: patterns.map((p, k): Term => [p[i], columns[k]]), constant: 0 }, count);
  });
  const total = { terms: columns.map((c): Term => [1, c]), constant: 0 };
  program.atLeast(total, bound);
  const answer = await program.least(total, { timeLimitMs, absoluteGap: 0.999 });
  const used = patterns.map((pieces, k) => ({ pieces, times: answer.values[k] ?? 0 })).filter((p) => p.times > 0);
  return { count: Math.round(answer.objective), patterns: used };
}
