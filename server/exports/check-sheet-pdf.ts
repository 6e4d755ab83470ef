import { type CheckAdvice, checkAdvice } from '../contract/check-advice.js';
import {
  type CheckRow,
  type CheckTolerances,
  checkRows,
  defaultCheckTolerances,
  type Verdict,
} from '../contract/check-rows.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { roughPlace } from '../contract/rough-place.js';
import type { Estimate } from '../units/estimate.js';
import { bothUnits, bothUnitsInLine } from '../units/exact-length.js';
import { formatEstimate, type LengthStyle } from '../units/format-length.js';
import { laidTrack } from './laid-track.js';
import { drawMessageBox } from './message-box.js';
import { drawFeet, PageFlow } from './page-flow.js';
import type { Paper } from './paper.js';
import { Sheet } from './sheet.js';
import { type Cell, type Column, drawTable } from './table-drawing.js';
import { drawTablePlan, tablePlanHeightMm } from './table-plan.js';

export interface CheckSheetOptions {
  readonly paper: Paper;
  readonly style: LengthStyle;
  readonly tableName: string;
  readonly tolerances?: CheckTolerances;
  readonly jointAllowanceMm?: number;
  readonly created?: Date;
}

const worstFirst: readonly Verdict[] = ['off', 'not measured', 'too close to call', 'good'];

/** The sheet after the cuts: planned, measured, difference with ± and a verdict for each joint, clearance and spacing. */
export async function checkSheetPdf(plan: Plan, measured: Report, options: CheckSheetOptions): Promise<Uint8Array> {
  const created = options.created ?? new Date();
  const tolerances = options.tolerances ?? defaultCheckTolerances;
  const rows = checkRows(plan, measured, options.jointAllowanceMm ?? 0, tolerances);
  const title = options.tableName === '' ? 'Check sheet' : `Check sheet: ${options.tableName}`;
  const sheet = new Sheet({
    paper: options.paper,
    title,
    subject: 'Planned against measured after the cuts.',
    created,
  });
  const flow = new PageFlow(sheet, title);
  flow.newPage();
  flow.title('Check sheet', options.tableName, created);
  flow.paragraph(summary(rows), { sizePt: 12, bold: true });
  flow.paragraph(rules(tolerances, options.style), { sizePt: 9 });
  drawAdvice(flow, rows, checkAdvice(plan, measured, rows, options.style, tolerances));
  drawOffPlaces(flow, rows, measured);
  const parts = [
    ['Clearances and spacings', rows.filter((r) => r.kind !== 'joint')],
    ['Joints', rows.filter((r) => r.kind === 'joint')],
  ] as const;
  for (const [name, part] of parts) {
    if (part.length === 0) continue;
    flow.heading(name, 14);
    drawRows(flow, part, measured, options.style);
  }
  drawFeet(sheet, [options.tableName, created.toISOString().slice(0, 10)].filter((s) => s !== '').join(' · '));
  return sheet.finish();
}

function summary(rows: readonly CheckRow[]): string {
  if (rows.length === 0) return 'Nothing to check: neither joints nor clearances were measured.';
  const count = (verdict: Verdict) => rows.filter((r) => r.verdict === verdict).length;
  const parts = worstFirst.map((v) => [v, count(v)] as const).filter(([v, n]) => n > 0 || v === 'off');
  return `${parts.map(([v, n]) => `${n} ${v}`).join(', ')} of ${rows.length} checked.`;
}

function rules(tolerances: CheckTolerances, given: LengthStyle): string {
  const style = { ...given, denominator: 32 } as const;
  return (
    `Good: a joint open by ${bothUnitsInLine(tolerances.jointMm, style)} at most, a clearance or spacing within ${bothUnitsInLine(tolerances.clearanceMm, style)} of the plan (common practice, no source). ` +
    '± is for 95 % of cases; where it straddles the limit the verdict is “too close to call”: check by hand. Unplug the transformer before you open a joint.'
  );
}

/** What helps, each sentence once with the places that it is for. */
function drawAdvice(flow: PageFlow, rows: readonly CheckRow[], { mismatch, cures }: CheckAdvice): void {
  if (mismatch !== null) drawMessageBox(flow, 'DOES NOT MATCH THE PLAN', [mismatch], true);
  const places = new Map<string, string[]>();
  for (const row of rows.filter((r) => r.verdict === 'off')) {
    const cure = cures.get(row);
    if (cure !== undefined) places.set(cure, [...(places.get(cure) ?? []), row.name]);
  }
  if (places.size === 0) return;
  flow.heading('What helps', 10);
  for (const [cure, names] of places) flow.paragraph(`${names.join(', ')}: ${cure}`);
}

/** The plan is drawn only where something is off, with those places on it. */
function drawOffPlaces(flow: PageFlow, rows: readonly CheckRow[], measured: Report): void {
  const off = rows.filter((r) => r.verdict === 'off' && r.at !== null);
  if (off.length === 0) return;
  const runs = laidTrack(measured, null);
  const height = tablePlanHeightMm(measured, runs, flow.width, 75);
  flow.heading('What is off, and where', height);
  drawTablePlan(flow.sheet, flow.left, flow.y, flow.width, 75, {
    report: measured,
    runs,
    spots: off.map((r) => ({ name: r.name, at: r.at as readonly [number, number] })),
    accessories: [],
    alt: `Plan of the table with what is off: ${off.map((r) => r.name).join(', ')}.`,
  });
  flow.y += height;
}

function drawRows(flow: PageFlow, rows: readonly CheckRow[], measured: Report, style: LengthStyle): void {
  const columns: Column[] = [
    { head: '', share: 30, style: { bold: true } },
    { head: 'Place', share: 56, style: { sizePt: 9 } },
    { head: 'Planned', share: 24 },
    { head: 'Measured', share: 38 },
    { head: 'Difference', share: 38 },
    { head: 'Verdict', share: 28, style: { bold: true } },
  ];
  const sorted = [...rows].sort((a, b) => worstFirst.indexOf(a.verdict) - worstFirst.indexOf(b.verdict));
  drawTable(
    flow,
    columns,
    sorted.map((row): Cell[] => [
      [row.name],
      [row.at === null ? '' : roughPlace(row.at, measured, style)],
      [bothUnits(row.plannedMm, style).first.replace('≈ ', '')],
      [row.measured === null ? '—' : formatEstimate(row.measured, style)],
      [row.difference === null ? '—' : signed(row.difference, style)],
      [row.verdict],
    ]),
  );
}

/** A difference is small: it is always in millimetres, which say more than fractions do, with its sign. */
function signed(difference: Estimate, style: LengthStyle): string {
  const value = Math.round(difference.value * 10) / 10;
  const text = formatEstimate({ ...difference, value: Math.abs(value) }, { ...style, unit: 'mm' });
  return value === 0 ? text : `${value > 0 ? '+' : '−'}${text}`;
}
