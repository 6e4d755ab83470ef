import { basename } from 'node:path';
import { problem } from '../contract/problems.js';
import { detectMarkers } from '../stages/markers/detect-markers.js';
import { openPhoto } from '../stages/photo/open-photo.js';
import { readNamedFile, writeNamedFile } from './files.js';
import { done, ended, type Outcome } from './outcome.js';
import { readBorder } from './read-border.js';
import { readNumber, readOptions } from './read-options.js';

/** `gapwright markers`: the markers of one photo as JSON, `[{ id, cornersPx }]`. */
export async function markers(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, { 'marker-side': 'one', border: 'one', out: 'one' });
  if (!input.ok) return ended(input.problem);
  const path = input.value.files[0];
  if (path === undefined || input.value.files.length > 1)
    return ended(problem('missing-argument', { what: 'one photo' }));
  // The side is not needed to find markers; it is taken so that both commands can be called alike, and checked.
  const side = readNumber(input.value, 'marker-side', 120, [10, 1000]);
  if (!side.ok) return ended(side.problem);
  const border = readBorder(input.value);
  if (!border.ok) return ended(border.problem);
  const bytes = await readNamedFile(path);
  if (!bytes.ok) return ended(bytes.problem);
  const photo = await openPhoto(basename(path), bytes.value);
  if (!photo.ok) return ended(photo.problem);
  const found = await detectMarkers(photo.value, { borderModules: border.value });
  if (!found.ok) return ended(found.problem);
  const list = found.value.map((m) => ({ id: m.id, cornersPx: m.cornersInPhoto.map((c) => [c.x, c.y]) }));
  const text = `${JSON.stringify(list)}\n`;
  const out = input.value.one('out');
  if (out === undefined) return done(text);
  const written = await writeNamedFile(out, text);
  return written.ok ? done() : ended(written.problem);
}
