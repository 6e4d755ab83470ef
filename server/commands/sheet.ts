import { basename, extname } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import { type Plan, planFormat, planSchema } from '../contract/plan.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import { noWishes, type Wishes, wishesSchema } from '../contract/wishes.js';
import { accessoriesOf, isSheetName, type SheetOptions, type SheetSources, sheetForms } from '../exports/sheets.js';
import { parseReport } from '../planner/parse-inputs.js';
import { readNamedJson, writeNamedFile } from './files.js';
import { done, ended, type Outcome } from './outcome.js';
import { type CommandInput, readChoice, readOptions } from './read-options.js';

/** Which file a command is given first, and by which option the other one may come. */
const kinds = {
  'cut-sheet': { first: 'plan', other: 'report', endings: '.pdf, .csv, .svg or .dxf' },
  'setting-out': { first: 'report', other: 'plan', endings: '.pdf' },
  layout: { first: 'report', other: 'plan', endings: '.svg or .dxf' },
  measurements: { first: 'report', other: 'plan', endings: '.csv' },
  'check-sheet': { first: 'report', other: 'plan', endings: '.pdf' },
  coverage: { first: 'report', other: 'plan', endings: '.svg or .csv' },
} as const;

const words = { plan: 'one plan', report: 'one measurement report' } as const;

/** The commands that make a paper or a drawing: `cut-sheet plan.json --out cuts.pdf`; the ending says in which form. */
export async function sheet(command: keyof typeof kinds, given: readonly string[]): Promise<Outcome> {
  const options = {
    out: 'one',
    paper: 'one',
    unit: 'one',
    fraction: 'one',
    report: 'one',
    plan: 'one',
    name: 'one',
    wishes: 'one',
  };
  const input = readOptions(given, options as Record<string, 'one'>);
  if (!input.ok) return ended(input.problem);
  const kind = kinds[command];
  const [path, surplus] = input.value.files;
  if (path === undefined || surplus !== undefined)
    return ended(problem('missing-argument', { what: words[kind.first] }));
  const out = input.value.one('out');
  if (out === undefined) {
    return ended(problem('missing-argument', { what: `--out with a file name that ends in ${kind.endings}` }));
  }
  const name = `${command}${extname(out).toLowerCase()}`;
  if (!isSheetName(name)) {
    return ended(problem('bad-field', { field: '--out', why: `“${out}” does not end in ${kind.endings}` }));
  }
  const sources = await readSources(kind.first, path, kind.other, input.value.one(kind.other));
  if (!sources.ok) return ended(sources.problem);
  if (command === 'check-sheet' && sources.value.plan === undefined) {
    return ended(problem('missing-argument', { what: '--plan with the plan that was cut from' }));
  }
  const how = await readSheetOptions(input.value);
  if (!how.ok) return ended(how.problem);
  const all = sources.value.plan ? { ...sources.value, planned: sources.value.plan } : sources.value;
  const written = await writeNamedFile(out, await sheetForms[name].make(all, how.value));
  return written.ok ? done() : ended(written.problem);
}

async function readSources(
  first: 'plan' | 'report',
  firstPath: string,
  other: 'plan' | 'report',
  otherPath: string | undefined,
): Promise<Result<SheetSources, Problem>> {
  const paths = { [first]: firstPath, [other]: otherPath } as Record<'plan' | 'report', string | undefined>;
  const plan = paths.plan === undefined ? ok(undefined) : await readPlan(paths.plan);
  if (!plan.ok) return plan;
  const report = paths.report === undefined ? ok(undefined) : await readReport(paths.report);
  if (!report.ok) return report;
  return ok({ ...(plan.value ? { plan: plan.value } : {}), ...(report.value ? { report: report.value } : {}) });
}

async function readPlan(path: string): Promise<Result<Plan, Problem>> {
  const json = await readNamedJson(path);
  if (!json.ok) return json;
  const found = (json.value as { format?: unknown } | null)?.format;
  if (found !== planFormat) {
    return failed(problem('wrong-format', { name: basename(path), expected: planFormat, found: String(found) }));
  }
  const parsed = planSchema.safeParse(json.value);
  // With the fields that this version does not name: a sheet is made from all that the planner wrote.
  return parsed.success ? ok({ ...parsed.data, ...(json.value as Plan) }) : failed(badField(parsed.error));
}

async function readReport(path: string): Promise<Result<Report, Problem>> {
  const json = await readNamedJson(path);
  return json.ok ? parseReport(json.value) : json;
}

async function readWishes(path: string | undefined): Promise<Result<Wishes, Problem>> {
  if (path === undefined) return ok(noWishes);
  const json = await readNamedJson(path);
  if (!json.ok) return json;
  const parsed = wishesSchema.safeParse(json.value);
  return parsed.success ? ok(parsed.data) : failed(badField(parsed.error));
}

function badField(error: { issues: readonly { path: readonly PropertyKey[]; message: string }[] }): Problem {
  const issue = error.issues[0];
  return problem('bad-field', { field: issue?.path.join('.') ?? '', why: issue?.message ?? 'it is not understood' });
}

async function readSheetOptions(input: CommandInput): Promise<Result<SheetOptions, Problem>> {
  const paper = readChoice(input, 'paper', ['letter', 'a4']);
  if (!paper.ok) return paper;
  const unit = readChoice(input, 'unit', ['in', 'mm']);
  if (!unit.ok) return unit;
  const fraction = readChoice(input, 'fraction', ['16', '32', '64']);
  if (!fraction.ok) return fraction;
  const wishes = await readWishes(input.one('wishes'));
  if (!wishes.ok) return wishes;
  return ok({
    paper: paper.value,
    style: { unit: unit.value, denominator: Number(fraction.value) as 16 | 32 | 64 },
    tableName: input.one('name') ?? '',
    accessories: accessoriesOf(wishes.value),
    jointAllowanceMm: wishes.value.jointAllowanceMm,
  });
}
