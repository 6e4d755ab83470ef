import { gapToldBy } from '../contract/gap-readings.js';
import { styleToldBy, toldWords } from '../contract/gap-words.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import type { Estimate } from '../units/estimate.js';
import { halfWidth95 } from '../units/estimate.js';
import { styleToTell } from '../units/exact-length.js';
import { formatEstimate, type LengthStyle } from '../units/format-length.js';
import { type CsvField, writeCsv } from './csv.js';

const head = ['what', 'id', 'run', 'side', 'length_mm', 'plus_minus_mm_95', 'length', 'x_mm', 'y_mm', 'note'] as const;

/**
 * Everything measured as one CSV table, a row for each length: sides, straights, curves (radius of the centre rail),
 * joints, clearances, spacings, the profile along the runs, and what was not seen. Places are in the table frame.
 * @param plan tells which open gaps a rule was laid in: each has a row of its own below the joints
 */
export function reportCsv(report: Report, style: LengthStyle, plan: Plan | null = null): string {
  const row = (
    what: string,
    names: { id?: string; run?: string; side?: string },
    length: Estimate | null,
    at: readonly [number, number] | null,
    note = '',
    told = style,
  ): CsvField[] => [
    what,
    names.id ?? '',
    names.run ?? '',
    names.side ?? '',
    length?.value ?? null,
    length === null ? null : halfWidth95(length),
    length === null ? '' : formatEstimate(length, told),
    at?.[0] ?? null,
    at?.[1] ?? null,
    note,
  ];
  return writeCsv([
    [...head],
    ...report.table.sides.map((s) =>
      row('side', { side: s.name }, s.length, s.from, s.seen === false ? 'not seen' : ''),
    ),
    ...report.runs.flatMap((run) =>
      run.pieces.map((p, i) =>
        p.kind === 'straight'
          ? row('straight', { id: `${run.id}.${i}`, run: run.id }, p.length, p.from)
          : row('curve radius', { id: `${run.id}.${i}`, run: run.id }, p.radius, p.from, `${degrees(p.sweepRad)}°`),
      ),
    ),
    ...report.joints.map((j) =>
      row(j.open ? 'open gap' : 'joint', { id: j.id, run: j.run }, j.gap, j.at, kinkNote(j.kinkRad ?? null)),
    ),
    ...(plan?.byRule ?? []).flatMap((ruled) => {
      const at = report.joints.find((j) => j.id === ruled.joint);
      if (at === undefined) return [];
      const toldBy = gapToldBy(ruled);
      const rule = formatEstimate(ruled.rule, styleToTell(ruled.rule.value, style));
      const note =
        toldBy === 'rule'
          ? 'counts in the plan in place of the photo'
          : `counts in the plan: the photo together with the rule, which says ${rule}`;
      const what = `open gap ${toldWords[toldBy]}`;
      const told = styleToldBy(toldBy, ruled.length.value, style);
      return [row(what, { id: ruled.joint, run: at.run }, ruled.length, at.at, note, told)];
    }),
    ...report.clearances.map((c) => row('clearance', { run: c.run, side: c.side }, c.distance, c.at)),
    ...report.spacings.map((s) => row('spacing', { run: s.runs.join(' / ') }, s.distance, s.at)),
    ...report.profile.map((c) => row('profile', { run: c.run, side: c.side }, c.distance, c.at)),
    ...report.notSeen.map((n) => row('not seen', { run: n.run }, null, n.from, n.why)),
  ]);
}

function kinkNote(kink: Estimate | null): string {
  return kink === null ? '' : `kink ${degrees(kink.value)}° ± ${degrees(halfWidth95(kink))}°`;
}

function degrees(rad: number): string {
  return ((rad * 180) / Math.PI).toFixed(2);
}
