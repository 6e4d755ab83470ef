import { problem } from '../contract/problems.js';
import { markerSheetPdf } from '../exports/marker-sheet.js';
import { parseMarkerIds } from '../exports/parse-marker-ids.js';
import { writeNamedFile } from './files.js';
import { done, ended, type Outcome } from './outcome.js';
import { readChoice, readNumber, readOptions } from './read-options.js';

/** `gapwright markers-sheet`: a PDF with one marker to a page. */
export async function markersSheet(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, { ids: 'one', paper: 'one', side: 'one', out: 'one' });
  if (!input.ok) return ended(input.problem);
  const [surplus] = input.value.files;
  if (surplus !== undefined) return ended(problem('unknown-option', { option: surplus }));
  const out = input.value.one('out');
  if (out === undefined) return ended(problem('missing-argument', { what: '--out with the name of a PDF file' }));
  const ids = parseMarkerIds(input.value.one('ids') ?? '0-5');
  if (!ids.ok) return ended(ids.problem);
  const paper = readChoice(input.value, 'paper', ['letter', 'a4']);
  if (!paper.ok) return ended(paper.problem);
  const side = readNumber(input.value, 'side', 120, [20, 150]);
  if (!side.ok) return ended(side.problem);
  const pdf = await markerSheetPdf({ ids: ids.value, paper: paper.value, sideMm: side.value });
  const written = await writeNamedFile(out, pdf);
  return written.ok ? done() : ended(written.problem);
}
