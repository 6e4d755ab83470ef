import type { z } from 'zod';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { type Report, reportFormat, reportSchema } from '../contract/report.js';
import { type Stock, stockFormat, stockSchema } from '../contract/stock.js';
import { type Wishes, wishesFormat, wishesSchema } from '../contract/wishes.js';
import { checkReport, checkStock, checkWishes } from './check-inputs.js';

/**
 * Reads a measurement report. Lists that are missing count as empty; what the planner needs (outline, sides, track, runs)
 * must be there.
 * @returns problems: wrong-format, bad-field
 */
export function parseReport(json: unknown): Result<Report, Problem> {
  const lists = ['photos', 'markers', 'joints', 'clearances', 'profile', 'spacings', 'notSeen', 'warnings'] as const;
  return parse(json, { name: 'The report', format: reportFormat, schema: reportSchema, lists, check: checkReport });
}

/**
 * Reads wishes and checks every name and number in them against the report they are about.
 * @returns problems: wrong-format, bad-field, unknown-side, unknown-run
 */
export function parseWishes(json: unknown, report: Report): Result<Wishes, Problem> {
  const check = (wishes: Wishes) => checkWishes(wishes, report);
  return parse(json, { name: 'The file of wishes', format: wishesFormat, schema: wishesSchema, lists: [], check });
}

/**
 * Reads what is at hand.
 * @returns problems: wrong-format, bad-field
 */
export function parseStock(json: unknown): Result<Stock, Problem> {
  return parse(json, {
    name: 'The stock list',
    format: stockFormat,
    schema: stockSchema,
    lists: [],
    check: checkStock,
  });
}

interface Kind<T> {
  readonly name: string;
  readonly format: string;
  readonly schema: z.ZodType<T, unknown>;
  readonly lists: readonly string[];
  readonly check: (value: T) => Problem | null;
}

function parse<T>(json: unknown, kind: Kind<T>): Result<T, Problem> {
  const found = json === null || typeof json !== 'object' || Array.isArray(json) ? null : (json as Fields);
  if (found === null || found.format !== kind.format) {
    const said = found === null ? describe(json) : found.format === undefined ? 'none' : String(found.format);
    return failed(problem('wrong-format', { name: kind.name, expected: kind.format, found: said }));
  }
  const filled: Fields = { ...found };
  for (const list of kind.lists) filled[list] ??= [];
  if (kind.format === reportFormat) fillSeen(filled);
  const parsed = kind.schema.safeParse(filled);
  if (!parsed.success) return failed(badField(parsed.error.issues[0], filled));
  const wrong = kind.check(parsed.data);
  return wrong ? failed(wrong) : ok(parsed.data);
}

type Fields = Record<string, unknown>;

/** Where a thing was seen matters to the page alone: a report without it can still be planned from. */
function fillSeen(report: Fields): void {
  for (const list of ['joints', 'clearances', 'profile', 'spacings']) {
    const items = report[list];
    if (!Array.isArray(items)) continue;
    report[list] = items.map((item: unknown) =>
      item !== null && typeof item === 'object' && !('seen' in item) ? { ...item, seen: [] } : item,
    );
  }
}

type Issue = z.core.$ZodIssue;

function badField(issue: Issue, input: unknown): Problem {
  const field = issue.path.length === 0 ? 'the whole file' : pathText(issue.path);
  return problem('bad-field', { field, why: reason(issue, valueAt(input, issue.path)) });
}

function pathText(path: readonly PropertyKey[]): string {
  return path.reduce<string>(
    (text, key) => (typeof key === 'number' ? `${text}[${key}]` : text === '' ? String(key) : `${text}.${String(key)}`),
    '',
  );
}

function valueAt(input: unknown, path: readonly PropertyKey[]): unknown {
  return path.reduce<unknown>((at, key) => (at as Record<PropertyKey, unknown> | undefined)?.[key as string], input);
}

function reason(issue: Issue, value: unknown): string {
  const found = describe(value);
  if (issue.code === 'invalid_type')
    return `${expectedWords[issue.expected] ?? issue.expected} is needed, not ${found}`;
  if (issue.code === 'too_small') {
    if (issue.origin === 'array') return 'it holds too few values';
    if (issue.origin === 'string') return 'it must not be empty';
    const least = Number(issue.minimum);
    if (least === 0 && !issue.inclusive) return `it must be greater than 0, not ${found}`;
    return least === 0 ? `it must not be negative, but is ${found}` : `it must be at least ${least}, not ${found}`;
  }
  if (issue.code === 'too_big') return `it must be at most ${Number(issue.maximum)}, not ${found}`;
  if (issue.code === 'invalid_value') {
    return `it must be one of ${issue.values.map((v) => `“${String(v)}”`).join(', ')}, not ${found}`;
  }
  if (issue.code === 'invalid_union') return `${found} is none of the kinds that can stand here`;
  return `${found} cannot stand here`;
}

const expectedWords: Record<string, string> = {
  number: 'a number',
  int: 'a whole number',
  string: 'a text',
  boolean: 'true or false',
  array: 'a list',
  tuple: 'a pair of numbers',
  object: 'a group of fields',
};

function describe(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (value === null) return 'null';
  if (typeof value === 'number') return String(value);
  if (typeof value === 'string') return `the text “${value.slice(0, 40)}”`;
  if (typeof value === 'boolean') return String(value);
  return Array.isArray(value) ? 'a list' : 'a group of fields';
}
