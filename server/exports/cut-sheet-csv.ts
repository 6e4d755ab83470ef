import { fillerSum, sumNames, toldBy } from '../contract/filler-sum.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { halfWidth95 } from '../units/estimate.js';
import { bothUnits } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CsvField, writeCsv } from './csv.js';
import { type CutList, cutListOf } from './cut-list.js';
import { stretchName } from './filler-place.js';

const head = [
  'filler',
  'length_mm',
  'length',
  'run',
  'place',
  'gap_mm',
  'gap_plus_minus_mm_95',
  'donor',
  'donor_length_mm',
  'cut',
  'start_mm',
  'mark_mm',
  'kerf_mm',
  'pins_to_fit',
  'gap_told_by',
  'status',
] as const;

/**
 * The fillers as CSV, one row each: where to mark on which donor (from the face of the rail at its pinned end, all in
 * millimetres) and the length as the user writes it. `place` names every gap and straight whose place a filler takes. `status` is `cut`, `no donor`, or `do not cut yet`.
 * `gap_told_by` is `photo`; `rule`, where it contradicts the photo and counts alone; or `photo and rule`, where the gap was
 * checked with the rule, and for a sum of parts that are told by different ones.
 */
export function cutSheetCsv(plan: Plan, style: LengthStyle, report: Report | null = null): string {
  const list = cutListOf(plan);
  const rows = plan.fillers.map((filler) => {
    const sum = report === null ? { parts: [], total: filler.gap ?? null } : fillerSum(plan, filler, report);
    return row(list, filler.id, { names: sumNames(sum), toldBy: toldBy(plan, filler, sum) ?? '' }, style);
  });
  return writeCsv([head, ...rows]);
}

interface Place {
  readonly names: string;
  readonly toldBy: string;
}

function row(list: CutList, id: string, { names, toldBy }: Place, style: LengthStyle): CsvField[] {
  const filler = list.fillers.find((f) => f.id === id) as CutList['fillers'][number];
  const donor = list.donors.find((d) => d.pieces.some((p) => p.filler === id));
  const piece = donor?.pieces.find((p) => p.filler === id);
  const cut = donor?.cuts.find((c) => c.markMm === piece?.toMm);
  const status = list.doNotCut.length > 0 ? 'do not cut yet' : donor === undefined ? 'no donor' : 'cut';
  return [
    filler.id,
    filler.lengthMm,
    bothUnits(filler.lengthMm, style).first,
    filler.run,
    names || (filler.joint ?? stretchName(filler.stretch)),
    filler.gap?.value ?? null,
    filler.gap === null ? null : halfWidth95(filler.gap),
    donor?.id ?? null,
    donor?.lengthMm ?? null,
    cut?.order ?? null,
    piece?.fromMm ?? null,
    piece?.toMm ?? null,
    cut?.kerfMm ?? null,
    3 * filler.fitPinsAt,
    toldBy,
    status,
  ];
}
