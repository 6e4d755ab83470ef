import { basename, extname } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Plan, planFormat, planSchema } from '../contract/plan.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import { cutSheetCsv } from '../exports/cut-sheet-csv.js';
import { cutSheetDxf } from '../exports/cut-sheet-dxf.js';
import { cutSheetPdf } from '../exports/cut-sheet-pdf.js';
import { cutSheetSvg } from '../exports/cut-sheet-svg.js';
import { parseReport } from '../planner/parse-inputs.js';
import type { LengthStyle } from '../units/format-length.js';
import { readNamedJson, writeNamedFile } from './files.js';
import { done, ended, type Outcome } from './outcome.js';
import { type CommandInput, readChoice, readOptions } from './read-options.js';

/** `gapwright cut-sheet`: a plan in, the sheet for the bench out; the ending of --out says in which form. */
export async function cutSheet(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, {
    out: 'one',
    paper: 'one',
    unit: 'one',
    fraction: 'one',
    report: 'one',
    name: 'one',
  });
  if (!input.ok) return ended(input.problem);
  const path = input.value.files[0];
  if (path === undefined || input.value.files.length > 1)
    return ended(problem('missing-argument', { what: 'one plan' }));
  const out = input.value.one('out');
  if (out === undefined) {
    return ended(problem('missing-argument', { what: '--out with a file name that ends in .pdf, .csv, .svg or .dxf' }));
  }
  const plan = await readPlan(path);
  if (!plan.ok) return ended(plan.problem);
  const report = await readReport(input.value.one('report'));
  if (!report.ok) return ended(report.problem);
  const sheet = await makeSheet(plan.value, report.value, out, input.value);
  if (!sheet.ok) return ended(sheet.problem);
  const written = await writeNamedFile(out, sheet.value);
  return written.ok ? done() : ended(written.problem);
}

async function readPlan(path: string): Promise<Result<Plan, Problem>> {
  const json = await readNamedJson(path);
  if (!json.ok) return json;
  const found = (json.value as { format?: unknown } | null)?.format;
  if (found !== planFormat) {
    return failed(problem('wrong-format', { name: basename(path), expected: planFormat, found: String(found) }));
  }
  const parsed = planSchema.safeParse(json.value);
  if (parsed.success) return ok(parsed.data);
  const issue = parsed.error.issues[0];
  return failed(
    problem('bad-field', { field: issue?.path.join('.') ?? '', why: issue?.message ?? 'it is not understood' }),
  );
}

async function readReport(path: string | undefined): Promise<Result<Report | null, Problem>> {
  if (path === undefined) return ok(null);
  const json = await readNamedJson(path);
  return json.ok ? parseReport(json.value) : json;
}

async function makeSheet(
  plan: Plan,
  report: Report | null,
  out: string,
  input: CommandInput,
): Promise<Result<string | Uint8Array, Problem>> {
  const paper = readChoice(input, 'paper', ['letter', 'a4']);
  if (!paper.ok) return paper;
  const unit = readChoice(input, 'unit', ['in', 'mm']);
  if (!unit.ok) return unit;
  const fraction = readChoice(input, 'fraction', ['16', '32', '64']);
  if (!fraction.ok) return fraction;
  const style: LengthStyle = { unit: unit.value, denominator: Number(fraction.value) as 16 | 32 | 64 };
  const tableName = input.one('name') ?? '';
  switch (extname(out).toLowerCase()) {
    case '.pdf':
      return ok(await cutSheetPdf(plan, report, { paper: paper.value, style, tableName }));
    case '.csv':
      return ok(cutSheetCsv(plan, style));
    case '.svg':
      return ok(cutSheetSvg(plan, style));
    case '.dxf':
      return ok(cutSheetDxf(plan, style));
    default:
      return failed(problem('bad-field', { field: '--out', why: `“${out}” does not end in .pdf, .csv, .svg or .dxf` }));
  }
}
