import { spawn, spawnSync } from 'node:child_process';
import { copyFileSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import sharp from 'sharp';
import { afterAll, describe, expect, it } from 'vitest';
import { coverageAdvice } from '../../server/contract/coverage-words.js';
import type { Plan } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import { TableStore } from '../../server/projects/table-store.js';
import { ovalReport } from '../support/bench-plans.js';

const root = fileURLToPath(new URL('../..', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'gapwright-cli-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const file = (name: string): string => join(folder, name);
const sample = (name: string): string => join(root, 'samples', name);

function gapwright(...words: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, ['server/gapwright.mjs', ...words], {
    cwd: root,
    encoding: 'utf8',
  });
  return { status, output: stdout, told: stderr };
}

/** How many processes have this word in their command line (Linux). */
function commandLinesWith(word: string): number {
  return readdirSync('/proc')
    .filter((name) => /^\d+$/.test(name))
    .filter((id) => {
      try {
        return readFileSync(`/proc/${id}/cmdline`, 'utf8').includes(word);
      } catch {
        return false;
      }
    }).length;
}

describe('the command line', () => {
  it('is reached by npx from the project folder', () => {
    const run = spawnSync('npx', ['--no-install', 'gapwright', '--help'], { cwd: root, encoding: 'utf8' });
    expect([run.status, run.stderr]).toEqual([0, '']);
    for (const command of ['measure', 'markers', 'plan', 'cut-sheet', 'markers-sheet']) {
      expect(run.stdout).toContain(`gapwright ${command} `);
    }
  });

  it.each([
    [[], 'The command needs the name of a command'],
    [['measur', 'a.jpg'], '“measur” is not an option'],
    [['constructor'], '“constructor” is not an option'],
    [['measure'], 'at least one photo'],
    [['measure', 'a.jpg', '--colour', 'red'], '“--colour” is not an option'],
    [['measure', 'none-such.jpg'], 'There is no file none-such.jpg'],
    [['measure', 'a.jpg', '--marker-side', 'wide'], '--marker-side'],
    [['measure', 'a.jpg', '--border', '3'], '--border'],
    [['measure', 'a.jpg', '--tape', '3=7'], '--tape'],
    [['measure', 'a.jpg', '--tape', '3-3=900'], 'the same marker twice'],
    [['measure', 'a.jpg', '--square-corners=yes'], '--square-corners'],
    [['measure', 'a.jpg', '--track', 'none-such.json'], 'There is no file none-such.json'],
    [['measure', 'a.jpg', '--corrections', 'none-such.json'], 'There is no file none-such.json'],
    [['measure', 'a.jpg', '--corrections', 'package.json'], 'gapwright-corrections/1'],
    [['markers'], 'one photo'],
    [['plan'], 'one measurement report'],
    [['plan', 'package.json'], 'gapwright-measurement/1'],
    [['plan', 'samples/README.md'], 'is not a JSON file'],
    [['cut-sheet', 'package.json', '--out', 'a.pdf'], 'gapwright-plan/1'],
    [['cut-sheet', 'package.json'], '--out'],
    [['markers-sheet', '--out', 'a.pdf', '--ids', '9999'], 'The field “ids” cannot be used'],
    [['markers-sheet', '--ids', '0'], '--out'],
  ])('ends wrong use %j with status 2 and one line that says what and what to do', (words, part) => {
    const { status, output, told } = gapwright(...words);
    expect([status, output]).toEqual([2, '']);
    expect(told.trim().split('\n')).toHaveLength(1);
    expect(told).toContain(part);
    expect(told).not.toMatch(/\bat .*:\d+:\d+/);
  });

  it('ends with status 3 for a file that is no photo, in one line', () => {
    writeFileSync(file('words.jpg'), 'no photo at all, only words');
    for (const command of ['measure', 'markers']) {
      const { status, output, told } = gapwright(command, file('words.jpg'));
      expect([status, output, told.trim().split('\n').at(-1)]).toEqual([
        3,
        '',
        'gapwright: words.jpg is not a photo that can be read here. Choose a JPEG, PNG, WebP or HEIC file as the phone saved it.',
      ]);
    }
  });

  it('prints the markers of a photo as JSON', () => {
    const { status, output } = gapwright('markers', sample('birch-oval.jpg'), '--marker-side', '150');
    expect(status).toBe(0);
    const markers = JSON.parse(output) as { id: number; cornersPx: [number, number][] }[];
    const truth = JSON.parse(readFileSync(sample('birch-oval.json'), 'utf8')) as { markers: { id: number }[] };
    expect(markers.map((m) => m.id)).toEqual(truth.markers.map((m) => m.id));
    expect(markers[0]?.cornersPx).toHaveLength(4);
  });

  it('goes from a report over the plan to the cut sheet in every form', () => {
    writeFileSync(file('report.json'), JSON.stringify(ovalReport([50.8, 50.8])));
    writeFileSync(
      file('stock.json'),
      JSON.stringify({ format: 'gapwright-stock/1', donors: [{ id: 'd1', lengthMm: 254 }], kerfMm: 1 }),
    );
    const planned = gapwright('plan', file('report.json'), '--stock', file('stock.json'), '--out', file('plan.json'));
    expect([planned.status, planned.output]).toEqual([0, '']);
    const plan = JSON.parse(readFileSync(file('plan.json'), 'utf8')) as Plan;
    expect(plan.format).toBe('gapwright-plan/1');
    const printed = gapwright('plan', file('report.json'), '--stock', file('stock.json'));
    expect((JSON.parse(printed.output) as Plan).format).toBe(plan.format);
    const [joint] = ovalReport([50.8, 50.8]).joints;
    const gapReadings = [{ joint: joint?.id, at: joint?.at, lengthMm: 54 }];
    writeFileSync(file('wishes.json'), JSON.stringify({ format: 'gapwright-wishes/1', stepMm: 1, gapReadings }));
    const wished = ['--wishes', file('wishes.json'), '--stock', file('stock.json')];
    const read = gapwright('plan', file('report.json'), ...wished);
    expect((JSON.parse(read.output) as Plan).fillers.map((f) => f.lengthMm)).toEqual([54, 51]);
    expect(read.told).toContain('Gap 1: the rule says 54.0 mm (2 1/8 in)');
    for (const [ending, begin] of [
      ['pdf', '%PDF-'],
      ['csv', ''],
      ['svg', '<'],
      ['dxf', ''],
    ] as const) {
      const made = gapwright('cut-sheet', file('plan.json'), '--out', file(`cuts.${ending}`), '--unit', 'mm');
      expect([made.status, made.output]).toEqual([0, '']);
      const text = readFileSync(file(`cuts.${ending}`), 'latin1');
      expect(text.length).toBeGreaterThan(100);
      expect(text.startsWith(begin)).toBe(true);
    }
    for (const [command, ending] of [
      ['setting-out', 'pdf'],
      ['layout', 'svg'],
      ['layout', 'dxf'],
      ['measurements', 'csv'],
      ['check-sheet', 'pdf'],
      ['coverage', 'svg'],
      ['coverage', 'csv'],
    ] as const) {
      const made = gapwright(
        command,
        file('report.json'),
        '--plan',
        file('plan.json'),
        '--out',
        file(`${command}.${ending}`),
      );
      expect([command, made.status, made.told]).toEqual([command, 0, '']);
      expect(readFileSync(file(`${command}.${ending}`)).length).toBeGreaterThan(100);
    }
    const wrong = gapwright('cut-sheet', file('plan.json'), '--out', file('cuts.doc'));
    expect(wrong.status).toBe(2);
    expect(existsSync(file('cuts.doc'))).toBe(false);
  });

  it('prints marker sheets', () => {
    const made = gapwright(
      'markers-sheet',
      '--ids',
      '0-1',
      '--paper',
      'a4',
      '--side',
      '150',
      '--out',
      file('sheet.pdf'),
    );
    expect(made.status).toBe(0);
    expect(readFileSync(file('sheet.pdf'), 'latin1').startsWith('%PDF-')).toBe(true);
  });

  it('packs the folder of a table as a ZIP that other programs read', async () => {
    const store = new TableStore(file('tables'));
    const made = await store.create('Larkspur Lane');
    if (!made.ok) throw new Error(made.problem.code);
    const packed = gapwright('pack', store.folder(made.value.id), '--out', file('table.zip'));
    expect([packed.status, packed.told]).toEqual([0, '']);
    const bytes = readFileSync(file('table.zip'));
    expect(bytes.toString('latin1', 0, 4)).toBe('PK\x03\x04');
    const list = spawnSync('/usr/bin/python3', ['-m', 'zipfile', '-l', file('table.zip')], { encoding: 'utf8' });
    if (list.error === undefined) expect(list.stdout).toContain(`${made.value.id}/table.json`);
    const missing = gapwright('pack', file('none-such'), '--out', file('none.zip'));
    expect(missing.status).toBe(2);
    expect(existsSync(file('none.zip'))).toBe(false);
  });

  it('measures a photo, and draws the plan view with its lengths', async () => {
    const photo = file('three-straights.jpg');
    // Half the size: this is about the files, not about the accuracy.
    await sharp(sample('three-straights.jpg')).resize(2016).keepMetadata().jpeg({ quality: 90 }).toFile(photo);
    const words = ['--picture', file('plan.png'), '--out', file('measured.json')];
    const made = gapwright('measure', photo, ...words);
    expect(made.status, made.told).toBe(0);
    const report = JSON.parse(readFileSync(file('measured.json'), 'utf8')) as Report;
    expect(report.format).toBe('gapwright-measurement/1');
    if (!report.coverage) throw new Error('the table edge is in the picture');
    // The advice promises no more than the least sure clearance of the report.
    const worstU = Math.max(...report.clearances.map((c) => c.distance.u));
    expect(report.coverage.listed?.u).toBeCloseTo(worstU, 3);
    // What would help most is said once, here with the warning that there is one marker only.
    expect(made.told.split(coverageAdvice(report.coverage, { unit: 'mm', denominator: 16 }))).toHaveLength(2);
    const picture = await sharp(file('plan.png')).metadata();
    expect(picture.format).toBe('png');
    expect(picture.width).toBeGreaterThan(500);
  });

  it.skipIf(process.platform !== 'linux')('ends soon after npx, which called it, was killed', async () => {
    const photo = file('called-by-npx.jpg');
    copyFileSync(sample('birch-oval.jpg'), photo);
    const npx = spawn('npx', ['--no-install', 'gapwright', 'measure', photo], {
      cwd: root,
      stdio: ['ignore', 'ignore', 'pipe'],
    });
    await new Promise<void>((resolve) => npx.stderr.once('data', () => resolve()));
    expect(commandLinesWith(photo)).toBeGreaterThan(1);
    npx.kill('SIGKILL');
    await expect.poll(() => commandLinesWith(photo)).toBe(0);
  });

  // taskset (Linux) keeps a program and its threads to some processors.
  it.skipIf(spawnSync('taskset', ['-c', '0,1', 'true']).status !== 0)(
    'measures the same with one processor as with two',
    () => {
      const measured = ['0', '0,1'].map((processors) => {
        const words = [process.execPath, 'server/gapwright.mjs', 'measure', sample('three-straights.jpg')];
        const run = spawnSync('taskset', ['-c', processors, ...words], { cwd: root, encoding: 'utf8' });
        expect(run.status).toBe(0);
        return run.stdout;
      });
      expect(measured[0]).toBe(measured[1]);
    },
  );

  it('says that the result cannot be written, and leaves nothing half-written', () => {
    const { status, told } = gapwright('markers-sheet', '--ids', '0', '--out', join(folder, 'none-such', 'sheet.pdf'));
    expect(status).toBe(2);
    expect(told).toContain('cannot be written');
  });
});
