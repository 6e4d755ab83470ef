import { lengthsIn } from '../units/both-units.js';
import { halfWidth95 } from '../units/estimate.js';
import { formatLength, type LengthStyle } from '../units/format-length.js';
import { mmPerInch } from '../units/inches.js';
import type { PlanWithoutAlternatives } from './plan.js';
import { planWarning } from './plan-words.js';
import type { Report } from './report.js';

type Place = NonNullable<PlanWithoutAlternatives['trainRoom']>['places'][number];

/** Less than this, 1/8 in, is not worth sliding a run by hand for: practice, no source. */
const leastSlideMm = 3.175;

/** What a car comes near to: `the table edge, side B`. */
export function besideWords({ kind, against }: Pick<Place, 'kind' | 'against'>): string {
  const kinds = { edge: 'the table edge, side', zone: 'the place kept free,', track: 'the neighbouring run' };
  return `${kinds[kind]} ${against}`;
}

/** Where the longest car would hit something after all; empty where it hits nothing, or no car was given. */
export function unsafeWords(plan: PlanWithoutAlternatives, style: LengthStyle): string[] {
  return (plan.trainRoom?.places ?? [])
    .filter((place) => place.roomMm < 0)
    .map((place) => {
      const reaches = `reaches ${formatLength(-place.roomMm, style)} ${place.kind === 'edge' ? 'beyond' : 'into'}`;
      return `Not safe to run: on run ${place.run} the longest car ${reaches} ${besideWords(place)}.`;
    });
}

/** Where rule and photo contradict each other: a code of the planner's warnings. */
export const ruleAgainstPhoto = 'rule-against-photo';

/** Where a gap is not as long as it was photographed: to be read before its filler is cut; empty where they agree. */
export function contradictionWords(plan: PlanWithoutAlternatives, style: LengthStyle): string[] {
  return plan.warnings.filter((w) => w.code === ruleAgainstPhoto).map((w) => lengthsIn(w.message, style));
}

/** Where a gap is not known well enough: a code of the planner's warnings. */
const tooUncertain = 'too-uncertain-to-cut' as const;

/** Warnings that page and sheet say before the fillers, and not once more below them. */
export const saidBeforeFillers: readonly string[] = [tooUncertain, ruleAgainstPhoto];

/**
 * Why nothing should be cut yet, lengths in both units; empty when the measurement is good enough. What the planner says,
 * and what the lengths themselves say where it says nothing: silence is never trusted.
 */
export function reasonsNotToCut(plan: PlanWithoutAlternatives): string[] {
  const said = plan.warnings.filter((w) => w.code === tooUncertain).map((w) => w.message);
  if (said.length > 0) return said;
  const stepMm = plan.stepMm ?? mmPerInch / 16;
  return plan.fillers.flatMap(({ id, gap }) => {
    if (!gap || halfWidth95(gap) <= stepMm) return [];
    const data = { gap: `The gap that ${id} closes`, half95Mm: halfWidth95(gap), stepMm, photos: [] };
    return [planWarning(tooUncertain, data).message];
  });
}

/**
 * How whole runs have to be slid on the table before anything is joined. Runs that keep their shape are slid by what the
 * plan moves them; the only run of a table, when its straights change, to where its rails lie then.
 */
export function slideWords(plan: PlanWithoutAlternatives, report: Report | null, style: LengthStyle): string[] {
  if (report === null) return [];
  const runs = Object.entries(plan.shift);
  return runs.flatMap(([run, shift]) => {
    const changes = plan.stretches.some((s) => s.run === run && Math.abs(s.thenMm - s.nowMm) > leastSlideMm);
    if (!changes) return slidBy(run, shift, report, style);
    return runs.length === 1 ? laidAt(run, plan, report, style) : [];
  });
}

function slidBy(run: string, shift: readonly [number, number], report: Report, style: LengthStyle): string[] {
  const ways: { side: string; mm: number }[] = [];
  for (const { name, outward } of sidesOf(report)) {
    const mm = shift[0] * outward[0] + shift[1] * outward[1];
    // Of sides that look the same way one is enough.
    if (mm < leastSlideMm || ways.some((way) => Math.abs(way.mm - mm) < 0.05 * mm)) continue;
    ways.push({ side: name, mm });
  }
  ways.sort((a, b) => b.mm - a.mm);
  if (ways.length === 0) return [];
  const parts = ways.slice(0, 2).map(({ side, mm }) => `${formatLength(mm, style)} towards side ${side}`);
  return [`Slide run ${run} ${parts.join(' and ')}.`];
}

/** Sides whose clearance changes though the run takes as much room between them as now, and where it has to lie. */
function laidAt(run: string, plan: PlanWithoutAlternatives, report: Report, style: LengthStyle): string[] {
  const sides = sidesOf(report);
  const changes = plan.predicted.clearances.flatMap(({ side, distance }) => {
    const nowMm = Math.min(...report.clearances.filter((c) => c.side === side).map((c) => c.distance.value));
    const found = sides.find((s) => s.name === side);
    return found && Number.isFinite(nowMm)
      ? [{ side: found, byMm: distance.value - nowMm, thenMm: distance.value }]
      : [];
  });
  const slid: string[] = [];
  const laid: string[] = [];
  changes.forEach((a, i) => {
    for (const b of changes.slice(i + 1)) {
      const facing = a.side.outward[0] * b.side.outward[0] + a.side.outward[1] * b.side.outward[1] < -0.98;
      if (!facing || Math.max(Math.abs(a.byMm), Math.abs(b.byMm)) < leastSlideMm) continue;
      if (Math.abs(a.byMm + b.byMm) < leastSlideMm) {
        const towards = a.byMm < 0 ? a : b;
        slid.push(`${formatLength(Math.abs(a.byMm - b.byMm) / 2, style)} towards side ${towards.side.name}`);
      } else if (Math.min(Math.abs(a.byMm), Math.abs(b.byMm)) >= leastSlideMm) {
        laid.push(
          `${formatLength(a.thenMm, style)} from side ${a.side.name} and ${formatLength(b.thenMm, style)} from side ${b.side.name}`,
        );
      }
    }
  });
  return [
    ...(slid.length > 0 ? [`Slide run ${run} ${slid.join(' and ')}.`] : []),
    ...laid.map((where) => `Lay run ${run} so that its rails come to ${where}.`),
  ];
}

interface Outward {
  readonly name: string;
  readonly outward: readonly [number, number];
}

/** The sides with the direction that leads over their edge. */
function sidesOf({ table }: Report): Outward[] {
  const { outline } = table;
  const area = outline.reduce((sum, [x, y], i) => {
    const [nextX, nextY] = outline[(i + 1) % outline.length];
    return sum + x * nextY - nextX * y;
  }, 0);
  return table.sides.flatMap(({ name, from, to }) => {
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const length = Math.hypot(dx, dy) * Math.sign(area);
    return length === 0 ? [] : [{ name, outward: [dy / length, -dx / length] as const }];
  });
}
