import { basename } from 'node:path';
import { failed, ok, type Result } from '../base/result.js';
import type { Corrections } from '../contract/corrections.js';
import { coverageAdvice, warningStyle } from '../contract/coverage-words.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import { type Progress, stageLabels } from '../contract/stages.js';
import type { SideCheck, TapeCheck } from '../contract/tables.js';
import type { SheetOptions } from '../exports/sheets.js';
import { type MeasuredTable, measureTable } from '../pipeline/measure-table.js';
import { parseTrackProfile } from '../scene/parse-track-profile.js';
import type { TrackProfile } from '../scene/track-profile.js';
import { readNamedFile, readNamedJson, writeNamedFile } from './files.js';
import { done, ended, type Outcome, tell } from './outcome.js';
import { readBorder } from './read-border.js';
import { type CommandInput, readChoice, readNumber, readOptions } from './read-options.js';

/** `gapwright measure`: photos of one table in, the measurement report out. */
export async function measure(words: readonly string[]): Promise<Outcome> {
  const input = readOptions(words, {
    track: 'one',
    'marker-side': 'one',
    tape: 'many',
    'square-corners': 'flag',
    border: 'one',
    corrections: 'one',
    picture: 'one',
    unit: 'one',
    out: 'one',
  });
  if (!input.ok) return ended(input.problem);
  if (input.value.files.length === 0) return ended(problem('missing-argument', { what: 'at least one photo' }));
  const options = await readMeasureOptions(input.value);
  if (!options.ok) return ended(options.problem);
  const photos: { name: string; bytes: Uint8Array }[] = [];
  for (const path of input.value.files) {
    const bytes = await readNamedFile(path);
    if (!bytes.ok) return ended(bytes.problem);
    photos.push({ name: basename(path), bytes: bytes.value });
  }
  const measured = await measureTable(photos, options.value, { onProgress: progressTeller() });
  if (!measured.ok) return ended(measured.problem);
  const report = measured.value.report;
  for (const warning of report.warnings) tell(`warning: ${warning.message}`);
  for (const { id, used } of report.corrections ?? [])
    if (!used) tell(`warning: The correction ${id} fits nothing in its photo and was left out.`);
  tellAdvice(report);
  const drawn = await drawPicture(input.value, measured.value);
  if (!drawn.ok) return ended(drawn.problem);
  const text = `${JSON.stringify(report)}\n`;
  const out = input.value.one('out');
  if (out === undefined) return done(text);
  const written = await writeNamedFile(out, text);
  return written.ok ? done() : ended(written.problem);
}

/** Says which photo or marker would help most, where no warning has said so already. */
function tellAdvice({ coverage, warnings }: Report): void {
  if (!coverage) return;
  const advice = coverageAdvice(coverage, warningStyle);
  if (!warnings.some((w) => w.message.includes(advice))) tell(`advice: ${advice}`);
}

/** Writes the plan view with its lengths, as a PNG file, where `--picture` asks for it. */
async function drawPicture(input: CommandInput, measured: MeasuredTable): Promise<Result<void, Problem>> {
  const unit = readChoice(input, 'unit', ['in', 'mm']);
  if (!unit.ok) return unit;
  const path = input.one('picture');
  if (path === undefined) return ok(undefined);
  const { report, planView, planViewJpeg } = measured;
  const options: SheetOptions = {
    paper: 'letter',
    style: { unit: unit.value, denominator: 16 },
    tableName: '',
    accessories: [],
  };
  // Loaded here, as the checks of corrections are: most measurements need neither.
  const { sheetForms } = await import('../exports/sheets.js');
  const png = await sheetForms['plan-view.png'].make({ report, planView, picture: planViewJpeg }, options);
  return writeNamedFile(path, png);
}

interface MeasureOptionsRead {
  readonly track: TrackProfile;
  readonly markerSideMm: number;
  readonly tapeChecks: TapeCheck[];
  readonly sideChecks: SideCheck[];
  readonly squareCorners: boolean;
  readonly borderModules: 1 | 2;
  readonly corrections?: Corrections;
}

async function readMeasureOptions(input: CommandInput): Promise<Result<MeasureOptionsRead, Problem>> {
  const track = await readTrack(input.one('track'));
  if (!track.ok) return track;
  const side = readNumber(input, 'marker-side', 120, [10, 1000]);
  if (!side.ok) return side;
  const border = readBorder(input);
  if (!border.ok) return border;
  const tapeChecks: TapeCheck[] = [];
  const sideChecks: SideCheck[] = [];
  for (const text of input.many('tape')) {
    const tape = readTape(text);
    if (!tape.ok) return tape;
    if ('side' in tape.value) sideChecks.push(tape.value);
    else tapeChecks.push(tape.value);
  }
  const corrections = await readCorrections(input.one('corrections'));
  if (!corrections.ok) return corrections;
  const options = { track: track.value, markerSideMm: side.value, tapeChecks, borderModules: border.value };
  return ok({ ...options, sideChecks, squareCorners: input.flag('square-corners'), corrections: corrections.value });
}

/** Reads a file of corrections; its photos are named as on the command line, without folders. */
async function readCorrections(path: string | undefined): Promise<Result<Corrections | undefined, Problem>> {
  if (path === undefined) return ok(undefined);
  const json = await readNamedJson(path);
  if (!json.ok) return json;
  const { correctionsFormat, correctionsSchema } = await import('../contract/corrections.js');
  const found = String((json.value as { format?: unknown } | null)?.format);
  if (found !== correctionsFormat)
    return failed(problem('wrong-format', { name: basename(path), expected: correctionsFormat, found }));
  const parsed = correctionsSchema.safeParse(json.value);
  if (parsed.success) return ok(parsed.data);
  const issue = parsed.error.issues[0];
  const field = issue.path.join('.') || 'the whole file';
  return failed(problem('bad-field', { field, why: issue.message.charAt(0).toLowerCase() + issue.message.slice(1) }));
}

async function readTrack(text: string | undefined): Promise<Result<TrackProfile, Problem>> {
  if (text === undefined || text === 'tall' || text === 'low') return parseTrackProfile(text);
  const json = await readNamedJson(text);
  return json.ok ? parseTrackProfile(json.value) : json;
}

/**
 * Reads `3-7=1828.8`: the middles of markers 3 and 7 are 1828.8 mm apart; or `A=1830`: side A, as the report names it, is
 * 1830 mm long from corner to corner. `±u` may follow, a standard uncertainty.
 */
function readTape(text: string): Result<TapeCheck | SideCheck, Problem> {
  const match = /^\s*(?:(\d+)\s*-\s*(\d+)|([A-Z]))\s*=\s*(\d+(?:\.\d+)?)\s*(?:(?:±|\+-)\s*(\d+(?:\.\d+)?))?\s*$/.exec(
    text,
  );
  const why = (words: string): Result<TapeCheck, Problem> =>
    failed(problem('bad-field', { field: '--tape', why: `“${text}” ${words}` }));
  if (!match)
    return why(
      'is not written like 3-7=1828.8, two marker numbers and the millimetres between their middles, or A=1830, a table side',
    );
  const lengthMm = Number(match[4]);
  if (lengthMm <= 0) return why('is no length');
  const uMm = match[5] === undefined || Number(match[5]) === 0 ? null : Number(match[5]);
  if (match[3] !== undefined) return ok({ side: match[3], lengthMm, uMm });
  const [from, to] = [Number(match[1]), Number(match[2])];
  if (from === to) return why('names the same marker twice');
  return ok({ from, to, lengthMm, uMm });
}

function progressTeller(): (progress: Progress) => void {
  let last = '';
  return ({ stage, photo }) => {
    const line = photo === null ? stageLabels[stage] : `${stageLabels[stage]}: ${photo}`;
    if (line !== last) tell(line);
    last = line;
  };
}
