import { ended, type Outcome, tell } from './commands/outcome.js';
import { problem } from './contract/problems.js';

/** What `gapwright --help` prints. */
export const help = `gapwright measures dry-fitted three-rail track on photos and works out the filler sections to cut.

  gapwright measure PHOTO... [--track tall|low|FILE.json] [--marker-side MM] [--tape "3-7=1828.8"] [--tape "A=1830"]
                             [--square-corners] [--border 1|2] [--corrections FILE.json] [--picture plan.png]
                             [--out report.json]
      photos of one table in, the measurement report (JSON) out, and the plan view with its lengths; --square-corners
      says that the corners of the table are square, so that they are held so where they measure nearly so
  gapwright markers PHOTO [--marker-side MM] [--border 1|2] [--out markers.json]
      the markers of one photo, as JSON
  gapwright plan report.json [--wishes wishes.json] [--stock stock.json] [--out plan.json]
      which fillers close the gaps and keep the wishes
  gapwright cut-sheet plan.json --out cuts.pdf|.csv|.svg|.dxf [--paper letter|a4] [--unit in|mm]
                             [--fraction 16|32|64] [--report report.json] [--name TEXT]
      the sheet for the bench; print at 100 %, without scaling
  gapwright setting-out report.json --out sheet.pdf [--plan plan.json] [--wishes wishes.json] …
      tape offsets from the table edges, to put the track back where it was planned
  gapwright layout report.json --out layout.svg|.dxf [--plan plan.json] [--wishes wishes.json] …
      the layout as a drawing at true size
  gapwright measurements report.json --out measurements.csv …
      every measured length as a table
  gapwright coverage report.json --out coverage.svg|.csv [--unit in|mm]
      where on the table a clearance is good to what, and which photo or marker would help most
  gapwright check-sheet report.json --plan plan.json --out check.pdf …
      after the cuts: new measurements against the plan
  gapwright pack FOLDER --out table.zip
      a whole table, photos and all, as one file that the page of another Gapwright opens
  gapwright markers-sheet --out sheet.pdf [--ids 0-5] [--paper letter|a4] [--side 120]
      marker sheets to print; print at 100 %, without scaling

JSON goes to standard output when --out is missing; progress and warnings go to standard error.
Lengths are millimetres. The marker side is that of the black square, 120 when it is not given.
Exit status: 0 done, 2 wrong use, 3 the photo cannot be measured, 1 a fault of the program.
The page in the browser is the same program: npm start
`;

type Command = (words: readonly string[]) => Promise<Outcome>;

function sheetCommand(name: Parameters<typeof import('./commands/sheet.js').sheet>[0]) {
  return async (): Promise<Command> => {
    const { sheet } = await import('./commands/sheet.js');
    return (words) => sheet(name, words);
  };
}

/** Each command is loaded when it is called: measuring needs no PDF writer, a cut sheet needs no picture code. */
const commands: Readonly<Record<string, () => Promise<Command>>> = {
  measure: async () => (await import('./commands/measure.js')).measure,
  markers: async () => (await import('./commands/markers.js')).markers,
  plan: async () => (await import('./commands/plan.js')).plan,
  'cut-sheet': sheetCommand('cut-sheet'),
  'setting-out': sheetCommand('setting-out'),
  layout: sheetCommand('layout'),
  measurements: sheetCommand('measurements'),
  coverage: sheetCommand('coverage'),
  'check-sheet': sheetCommand('check-sheet'),
  pack: async () => (await import('./commands/pack.js')).pack,
  'markers-sheet': async () => (await import('./commands/markers-sheet.js')).markersSheet,
};

async function outcomeOf(words: readonly string[]): Promise<Outcome> {
  const [name, ...rest] = words;
  if (words.includes('--help') || words.includes('-h') || name === 'help') return { status: 0, output: help };
  if (name === undefined) return ended(problem('missing-argument', { what: 'the name of a command' }));
  const load = Object.hasOwn(commands, name) ? commands[name] : undefined;
  if (load === undefined) return ended(problem('unknown-option', { option: name }));
  return (await load())(rest);
}

/**
 * Runs one command and ends the process with its status. Output is written whole before the process ends; a reader
 * that closes the pipe early is no fault.
 * @param words the command line after the program's name
 */
export async function runCommandLine(words: readonly string[]): Promise<void> {
  process.stdout.on('error', () => process.exit(0));
  let outcome: Outcome;
  try {
    outcome = await outcomeOf(words);
  } catch (error) {
    tell(`gapwright: the program failed: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
    outcome = { status: 1, output: '' };
  }
  process.stdout.write(outcome.output, () => process.exit(outcome.status));
}
