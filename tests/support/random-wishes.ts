import type { Report } from '../../server/contract/report.js';
import { type Wishes, wishesSchema } from '../../server/contract/wishes.js';
import { type LayoutSpec, oval, type RunSpec, type Section } from './make-report.js';
import { tableAround } from './random-layout.js';
import { seededRandom } from './seeded-random.js';

/** One to three loops inside each other or one alone, square on the table or turned, near its edges. */
export function randomNestedLayout(seed: number): LayoutSpec {
  const random = seededRandom(seed);
  const pick = <T>(items: readonly T[]): T => items[Math.floor(random() * items.length)];
  const count = 1 + Math.floor(random() * 3);
  const headingDeg = pick([0, 0, 0, 90, 13]);
  const along = (headingDeg * Math.PI) / 180;
  const spacing = pick([100, 114.3, 120]);
  const length = pick([
    [254, 254, 127],
    [254, 127, 127, 127],
    [254, 254],
  ]);
  const runs: RunSpec[] = [];
  for (let r = 0; r < count; r++) {
    const radius = 320 + spacing * r;
    const start: [number, number] = [spacing * r * Math.sin(along), -spacing * r * Math.cos(along)];
    const leg = (): Section[] => length.map((straight) => ({ straight }));
    const withGap = random() < 0.4;
    const first = leg();
    const second = leg();
    if (withGap) {
      const gap = pick([44.45, 50.8]);
      for (const row of [first, second]) row.splice(1, 1, { gap }, { straight: length[1] - gap });
    }
    runs.push(oval(`R${r + 1}`, { start, headingDeg, radius }, first, second));
  }
  const margins = [30 + random() * 120, 30 + random() * 200, 30 + random() * 120, 30 + random() * 200];
  return { runs, outline: tableAround(runs, margins) };
}

/** Wishes of which some are broken by the layout as it lies. */
export function randomWishes(seed: number, report: Report): Wishes {
  const random = seededRandom(seed * 7919 + 13);
  const pick = <T>(items: readonly T[]): T => items[Math.floor(random() * items.length)];
  const wishes: Record<string, unknown> = {
    format: 'gapwright-wishes/1',
    prefer: pick(['fewest-cuts', 'fewest-cuts', 'least-change']),
  };
  const clearance: unknown[] = [];
  for (const side of report.table.sides) {
    if (random() < 0.5) continue;
    const part = random() < 0.3 ? { fromMm: side.length.value * 0.2, toMm: side.length.value * 0.7 } : {};
    clearance.push({ side: side.name, atLeastMm: 20 + random() * 60, ...part });
  }
  wishes.clearance = clearance;
  if (random() < 0.4) {
    const run = pick(report.runs);
    const piece = pick(run.pieces);
    const away = 30 + random() * 60;
    const angle = random() * 2 * Math.PI;
    const centre = [piece.to[0] + away * Math.cos(angle), piece.to[1] + away * Math.sin(angle)];
    wishes.keepFree = [{ name: 'tower', centre, widthMm: 40, depthMm: 60, angleRad: random(), marginMm: 5 }];
  }
  if (report.runs.length > 1 && random() < 0.5)
    wishes.spacing = [{ runs: ['R1', 'R2'], atLeastMm: pick([90, 114.3, 125]) }];
  if (random() < 0.25) wishes.stay = [{ run: 'R1', pieces: [Math.floor(random() * report.runs[0].pieces.length)] }];
  return wishesSchema.parse(wishes);
}
