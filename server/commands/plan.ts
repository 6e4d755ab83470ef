import { problem } from '../contract/problems.js';
import { noStock } from '../contract/stock.js';
import { noWishes } from '../contract/wishes.js';
import { parseReport, parseStock, parseWishes } from '../planner/parse-inputs.js';
import { planFillers } from '../planner/plan-fillers.js';
import { readNamedJson, writeNamedFile } from './files.js';
import { done, ended, type Outcome, tell } from './outcome.js';
import { readOptions } from './read-options.js';

/** `gapwright plan`: report, wishes and stock in, the filler plan out. Missing wishes and stock are the plain ones. */
export async function plan(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, { wishes: 'one', stock: 'one', out: 'one' });
  if (!input.ok) return ended(input.problem);
  const path = input.value.files[0];
  if (path === undefined || input.value.files.length > 1) {
    return ended(problem('missing-argument', { what: 'one measurement report' }));
  }
  const reportJson = await readNamedJson(path);
  if (!reportJson.ok) return ended(reportJson.problem);
  const report = parseReport(reportJson.value);
  if (!report.ok) return ended(report.problem);
  const wishesPath = input.value.one('wishes');
  const wishesJson = wishesPath === undefined ? null : await readNamedJson(wishesPath);
  if (wishesJson?.ok === false) return ended(wishesJson.problem);
  const wishes = parseWishes(wishesJson ? wishesJson.value : noWishes, report.value);
  if (!wishes.ok) return ended(wishes.problem);
  const stockPath = input.value.one('stock');
  const stockJson = stockPath === undefined ? null : await readNamedJson(stockPath);
  if (stockJson?.ok === false) return ended(stockJson.problem);
  const stock = parseStock(stockJson ? stockJson.value : noStock);
  if (!stock.ok) return ended(stock.problem);

  const planned = await planFillers(report.value, wishes.value, stock.value);
  if (!planned.ok) return ended(planned.problem);
  for (const warning of planned.value.warnings) tell(`warning: ${warning.message}`);
  const text = `${JSON.stringify(planned.value, null, 1)}\n`;
  const out = input.value.one('out');
  if (out === undefined) return done(text);
  const written = await writeNamedFile(out, text);
  return written.ok ? done() : ended(written.problem);
}
