import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import sharp from 'sharp';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { markerSheetPdf } from '../../server/exports/marker-sheet.js';
import type { MarkerDetection } from '../../server/scene/marker-detection.js';
import { detectMarkers } from '../../server/stages/markers/detect-markers.js';
import { openPhoto } from '../../server/stages/photo/open-photo.js';
import { canPrint, printPage } from '../support/printed-page.js';
import { hasCv2, markersByCv2 } from '../support/python-cv2.js';

const hasDemo = spawnSync('apriltag', ['-h'], { stdio: 'ignore' }).status === 0;

interface Seen {
  readonly id: number;
  /** Pixel centres at integers. */
  readonly corners: readonly (readonly [number, number])[];
}

async function ours(file: string, border: 1 | 2 = 1): Promise<Seen[]> {
  const photo = await openPhoto(file, readFileSync(file));
  if (!photo.ok) throw new Error(photo.problem.code);
  const found = await detectMarkers(photo.value, { borderModules: border });
  if (!found.ok) throw new Error(found.problem.code);
  return found.value.map((m: MarkerDetection) => ({
    id: m.id,
    corners: m.cornersInPhoto.map((p) => [p.x, p.y] as const),
  }));
}

/** The demo of Debian's apriltag, the reader of the family's authors. Its origin is the corner of the first pixel. */
async function markersByDemo(file: string, folder: string): Promise<Seen[]> {
  const jpeg = join(folder, 'plain.jpg');
  await sharp(file).toColourspace('srgb').jpeg({ quality: 98 }).toFile(jpeg);
  const lines = execFileSync('apriltag', ['-v', jpeg], { encoding: 'utf8' }).trim().split('\n');
  const names = lines[0].replace('# ', '').split(' ');
  return lines.slice(1).flatMap((line) => {
    const cells = line.split(' ');
    const value = (name: string): number => Number(cells[names.indexOf(name)]);
    if (Number.isNaN(value('id'))) return [];
    const corners = ['lb', 'rb', 'rt', 'lt'].map((c) => [value(`x${c}`) - 0.5, value(`y${c}`) - 0.5] as const);
    return [{ id: value('id'), corners }];
  });
}

/** Distance of each corner of a to the nearest corner of b. */
function apart(a: Seen, b: Seen): number[] {
  return a.corners.map(([x, y]) => Math.min(...b.corners.map(([u, v]) => Math.hypot(u - x, v - y))));
}

const byId = (a: Seen, b: Seen): number => a.id - b.id;

describe('markers beside independent readers', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'gapwright-readers-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const sheet = async (name: string, dots: number): Promise<string> => {
    const page = printPage(await markerSheetPdf({ ids: [306], paper: 'a4', sideMm: 120 }), 1, dots);
    const { widthPx: width, heightPx: height } = page;
    const file = join(folder, name);
    await sharp(page.grey, { raw: { width, height, channels: 1 } })
      .blur(0.8)
      .png()
      .toFile(file);
    return file;
  };

  it.skipIf(!canPrint || !hasCv2)(
    'reads our printed sheet as python3-opencv does, corners within half a pixel',
    async () => {
      const file = await sheet('sheet.png', 60);
      const [mine, theirs] = [await ours(file), markersByCv2(file)];
      expect(mine.map((m) => m.id)).toEqual([306]);
      expect(theirs.map((m) => m.id)).toEqual([306]);
      expect(Math.max(...apart(mine[0], theirs[0]))).toBeLessThan(0.5);
    },
  );

  it.skipIf(!canPrint || !hasCv2 || !hasDemo)(
    'reads our printed sheet as the authors’ own demo does, corners within half a pixel',
    async () => {
      const file = await sheet('sheet-demo.png', 72);
      const [mine, theirs] = [await ours(file), await markersByDemo(file, folder)];
      expect(theirs.map((m) => m.id)).toEqual([306]);
      expect(Math.max(...apart(mine[0], theirs[0]))).toBeLessThan(0.5);
    },
  );

  const samples = resolve(import.meta.dirname, '../../samples');
  it.skipIf(!hasCv2).each(['birch-oval.jpg', 'green-table-oval.jpg', 'two-loops-whole.jpg'])(
    'finds in %s the markers that python3-opencv finds, and these nearer to the truth',
    async (name) => {
      const file = join(samples, name);
      const truth = JSON.parse(readFileSync(file.replace('.jpg', '.json'), 'utf8')).markers as {
        id: number;
        corners_px: [number, number][];
      }[];
      const known = truth.map((m) => ({ id: m.id, corners: m.corners_px })).sort(byId);
      const [mine, theirs] = [(await ours(file)).sort(byId), markersByCv2(file).sort(byId)];
      expect(mine.map((m) => m.id)).toEqual(known.map((m) => m.id));
      const ids = theirs.map((m) => m.id);
      expect(mine.map((m) => m.id)).toEqual(expect.arrayContaining(ids));
      expect(ids.length).toBeGreaterThan(0);
      const errors = (seen: Seen[]) =>
        seen.flatMap((m) => apart(m, known.find((k) => k.id === m.id) as Seen)).sort((a, b) => a - b);
      const middle = (values: number[]): number => values[values.length >> 1];
      const shared = mine.filter((m) => ids.includes(m.id));
      expect(middle(errors(shared))).toBeLessThan(middle(errors(theirs)));
      expect(Math.max(...errors(mine))).toBeLessThan(0.3);
    },
  );

  /** Real photographs of 36h11 markers with the corners that the authors' reader finds: test/data of apriltag 3.4. */
  const real = resolve(import.meta.dirname, '../../../shared/data/apriltag_photos');
  const pictures = existsSync(real) ? readdirSync(real).filter((f) => f.endsWith('.jpg')) : [];
  it.skipIf(pictures.length === 0).each(pictures.length === 0 ? ['apriltag_photos'] : pictures)(
    'finds in the real photograph %s every marker that the authors’ reader finds',
    async (name) => {
      const lines = readFileSync(join(real, name.replace('.jpg', '.txt')), 'utf8')
        .trim()
        .split('\n');
      const listed = lines.map((line) => {
        const [id, ...c] = (line.match(/-?[\d.]+/g) ?? []).map(Number);
        return { id, corners: [0, 1, 2, 3].map((i) => [c[2 * i] - 0.5, c[2 * i + 1] - 0.5] as const) };
      });
      const mine = await ours(join(real, name));
      const errors = listed.map((m) =>
        Math.min(...mine.filter((o) => o.id === m.id).map((o) => Math.max(...apart(o, m)))),
      );
      // Corners of a marker seen at a flat angle, 10 px high, differ most; a typical one by half a pixel.
      expect(Math.max(...errors)).toBeLessThan(4.5);
      expect(errors.sort((a, b) => a - b)[errors.length >> 1]).toBeLessThan(0.8);
    },
  );

  const documents = ['/usr/share/doc/opencv-doc/examples/data', '/usr/share/doc/opencv-doc/opencv4/html'];
  it.skipIf(!existsSync(documents[0]))(
    'finds no marker in real photographs that show none, other families included',
    async () => {
      let looked = 0;
      const found: string[] = [];
      for (const from of documents) {
        const names = readdirSync(from).filter((f) => /\.jpe?g$/.test(f));
        const wanted = from.endsWith('data')
          ? names
          : names.filter((f) => /^(markers|single|ch.*orig|gbmarker|diamond|screen)/.test(f));
        for (const name of wanted) {
          const photo = await openPhoto(name, readFileSync(join(from, name)));
          if (!photo.ok) continue;
          looked++;
          const markers = await detectMarkers(photo.value);
          if (!markers.ok || markers.value.length > 0) found.push(name);
        }
      }
      expect(looked).toBeGreaterThan(60);
      expect(found).toEqual([]);
    },
  );
});
