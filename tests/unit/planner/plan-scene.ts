import type { Plan } from '../../../server/contract/plan.js';
import type { Report } from '../../../server/contract/report.js';
import { type Stock, stockSchema } from '../../../server/contract/stock.js';
import { type Wishes, wishesSchema } from '../../../server/contract/wishes.js';
import { type PlanOptions, planFillers } from '../../../server/planner/plan-fillers.js';
import { checkPlan } from '../../support/check-plan.js';
import { type LayoutSpec, makeReport, oval, rectangle, type Section } from '../../support/make-report.js';

export function wishesOf(wishes: Record<string, unknown> = {}): Wishes {
  return wishesSchema.parse({ format: 'gapwright-wishes/1', ...wishes });
}

/** Donors of the lengths given, called d1, d2 …, and spare straights. */
export function stockOf(donorsMm: readonly number[], straights: Stock['straights'] = [], kerfMm = 1): Stock {
  const donors = donorsMm.map((lengthMm, i) => ({ id: `d${i + 1}`, lengthMm }));
  return stockSchema.parse({ format: 'gapwright-stock/1', donors, straights, kerfMm });
}

/** One oval with a radius of 381 mm, its first straight along side A, on a table of 2000 × 1200 mm unless said. */
export function ovalReport(
  first: readonly Section[],
  second: readonly Section[],
  more: { start?: [number, number]; table?: [number, number][]; headingDeg?: number; radius?: number } = {},
): Report {
  const { start = [600, 200], headingDeg = 0, radius = 381, table = rectangle(2000, 1200) } = more;
  const layout: LayoutSpec = { runs: [oval('R1', { start, headingDeg, radius }, first, second)], outline: table };
  return makeReport(layout);
}

/** Plans, and throws when the independent checker finds a fault in the plan or in an alternative. */
export async function planChecked(
  report: Report,
  wishes: Wishes,
  stock: Stock,
  options: PlanOptions = { alternatives: 0, timeLimitMs: 20_000 },
): Promise<Plan> {
  const planned = await planFillers(report, wishes, stock, options);
  if (!planned.ok) throw new Error(`no plan: ${JSON.stringify(planned.problem)}`);
  for (const plan of [planned.value, ...planned.value.alternatives]) {
    const faults = checkPlan(report, wishes, stock, plan);
    if (faults.length > 0) throw new Error(faults.join('\n'));
  }
  return planned.value;
}
