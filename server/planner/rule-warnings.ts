import { contradictsPhoto, type FoundReadings } from '../contract/gap-readings.js';
import { jointName } from '../contract/joint-names.js';
import type { PlanWithoutAlternatives } from '../contract/plan.js';
import { planWarning } from '../contract/plan-words.js';
import type { Report } from '../contract/report.js';
import type { GapReading } from '../contract/wishes.js';
import { distance, dot, subtract } from './plane-vectors.js';

/** Where rule and photo contradict each other, and which readings count nowhere. */
export function ruleWarnings(report: Report, { ruled, lost }: FoundReadings): PlanWithoutAlternatives['warnings'] {
  const contradicted = ruled.filter(contradictsPhoto).map(({ joint, rule, photo }) => {
    return planWarning('rule-against-photo', { gap: jointName(report, joint), rule, photo });
  });
  if (lost.length === 0) return contradicted;
  const readings = lost.map((reading) => ({ lengthMm: reading.lengthMm, side: sideNear(report, reading) }));
  return [...contradicted, planWarning('reading-without-gap', { readings })];
}

/** The name of the table side nearest to where a gap lay; null where the report knows no side. */
function sideNear({ table }: Report, { at }: GapReading): string | null {
  const sides = table.sides.map(({ name, from, to }) => {
    const along = subtract(to, from);
    const squared = dot(along, along);
    const share = squared === 0 ? 0 : Math.min(1, Math.max(0, dot(subtract(at, from), along) / squared));
    return { name, offMm: distance(at, [from[0] + along[0] * share, from[1] + along[1] * share]) };
  });
  return sides.sort((a, b) => a.offMm - b.offMm)[0]?.name ?? null;
}
