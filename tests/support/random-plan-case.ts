import type { Report } from '../../server/contract/report.js';
import { type Stock, stockSchema } from '../../server/contract/stock.js';
import { type Wishes, wishesSchema } from '../../server/contract/wishes.js';
import { type LayoutSpec, makeReport, type Section } from './make-report.js';
import { randomLayout, tableAround } from './random-layout.js';
import { randomNestedLayout } from './random-wishes.js';
import { seededRandom } from './seeded-random.js';

export interface PlanCase {
  readonly report: Report;
  readonly wishes: Wishes;
  readonly stock: Stock;
  /** How far ends of measured sections are off. */
  readonly noiseMm: number;
}

interface Dice {
  readonly random: () => number;
  readonly pick: <T>(items: readonly T[]) => T;
}

/** A layout of any kind on a table of any shape, with wishes, settings and stock of any kind: some can be met, some not. */
export function randomPlanCase(seed: number): PlanCase {
  const random = seededRandom(seed * 31 + 5);
  const dice: Dice = { random, pick: (items) => items[Math.floor(random() * items.length)] };
  const kind = dice.pick(['nested', 'nested', 'any', 'square', 'square', 'corner'] as const);
  const layout =
    kind === 'nested' ? randomNestedLayout(seed) : kind === 'any' ? randomLayout(seed) : squareLoop(dice, kind);
  const noiseMm = random() < 0.3 ? 0.2 : 0;
  const report = makeReport(layout, noiseMm > 0 ? { seed, lengthMm: noiseMm, headingDeg: 0.2 } : { seed });
  return { report, wishes: wishesFor(report, dice), stock: anyStock(dice), noiseMm };
}

/** A loop with straights on all four sides, some with gaps, at any heading, on a table that may have an inside corner. */
function squareLoop({ random, pick }: Dice, kind: 'square' | 'corner'): LayoutSpec {
  const radius = pick([320, 381]);
  const corner: Section[] = [
    { radius, degrees: 45 },
    { radius, degrees: 45 },
  ];
  const row = (count: number): Section[] =>
    Array.from({ length: count }, () => ({ straight: pick([254, 127, 127, 111.1]) }));
  const [a, b] = [row(1 + Math.floor(random() * 3)), row(1 + Math.floor(random() * 2))];
  const gap = random() < 0.4 ? pick([12, 25.4, 44.45, 50.8, 88.9, 300]) : 0;
  const first: Section[] = gap > 0 ? [a[0], { gap }, ...a.slice(1)] : a;
  const second: Section[] = gap > 0 ? [...a, random() < 0.5 ? { gap } : { straight: gap }] : [...a].reverse();
  const sections = [...first, ...corner, ...b, ...corner, ...second, ...corner, ...[...b].reverse(), ...corner];
  const runs = [{ id: 'R1', closed: true, start: [700, 300] as const, headingDeg: pick([0, 0, 90, 20]), sections }];
  const margin = () => 20 + random() * 120;
  const outline = tableAround(runs, [margin(), margin(), margin(), margin()]);
  if (kind === 'square') return { runs, outline };
  const [[x0, y0], , [x1, y1]] = outline;
  const middle = x0 + (x1 - x0) * (0.3 + random() * 0.4);
  const above = [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [middle, y1],
    [middle, y1 + 700],
    [x0, y1 + 700],
  ] as const;
  const below = [
    [x0, y0 - 500],
    [middle, y0 - 500],
    [middle, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ] as const;
  return { runs, outline: pick([above, below]) };
}

function wishesFor(report: Report, { random, pick }: Dice): Wishes {
  const clearance = report.table.sides
    .filter(() => random() >= 0.5)
    .map((side) => {
      const part = random() < 0.3 ? { fromMm: side.length.value * 0.2, toMm: side.length.value * 0.7 } : {};
      return { side: side.name, atLeastMm: 20 + random() * 90, ...part };
    });
  return wishesSchema.parse({
    format: 'gapwright-wishes/1',
    prefer: pick(['fewest-cuts', 'fewest-cuts', 'largest-loop', 'least-change']),
    stepMm: pick([1.5875, 1.5875, 0.79375, 0.396875, 1]),
    jointAllowanceMm: pick([0, 0, 0, 0.3, 0.8]),
    shortestFillerMm: pick([38.1, 38.1, 30, 50]),
    closingMm: pick([1.5, 1.5, 1, 2]),
    allowFreed: random() < 0.3,
    closeGaps: random() >= 0.15,
    clearance,
    keepFree: random() < 0.4 ? [zoneNear(report, { random, pick })] : [],
    spacing:
      report.runs.length > 1 && random() < 0.5 ? [{ runs: ['R1', 'R2'], atLeastMm: pick([90, 114.3, 125]) }] : [],
    stay: random() < 0.25 ? [{ run: 'R1', pieces: [Math.floor(random() * report.runs[0].pieces.length)] }] : [],
  });
}

function zoneNear(report: Report, { random, pick }: Dice) {
  const { to } = pick(pick(report.runs).pieces);
  const [awayMm, angle] = [30 + random() * 60, random() * 2 * Math.PI];
  return {
    name: 'tower',
    centre: [to[0] + awayMm * Math.cos(angle), to[1] + awayMm * Math.sin(angle)],
    widthMm: 40 + random() * 60,
    depthMm: 60,
    angleRad: random(),
    marginMm: 5,
  };
}

function anyStock({ random, pick }: Dice): Stock {
  const donors = Array.from({ length: Math.floor(random() * 6) }, (_, i) => ({
    id: `d${i + 1}`,
    lengthMm: pick([254, 222, 127, 90, 355.6, 250.3]),
  }));
  const straights = [254, 127].flatMap((lengthMm) =>
    random() < 0.6 ? [{ lengthMm, count: Math.floor(random() * 5) }] : [],
  );
  return stockSchema.parse({ format: 'gapwright-stock/1', donors, straights, kerfMm: pick([0, 1, 1, 1.5, 3]) });
}
