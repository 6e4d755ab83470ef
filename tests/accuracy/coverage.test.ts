import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import type { Report } from '../../server/contract/report.js';
import { photoFromTable, tableFromPhotoAtHeight } from '../../server/geometry/camera.js';
import { measureTable } from '../../server/pipeline/measure-table.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { coverage95 } from '../../server/units/estimate.js';
import { cameraOf } from '../../web/canvas/picture-frame.js';
import type { SceneTruth } from '../support/scene-truth.js';

const samples = fileURLToPath(new URL('../../samples', import.meta.url));
const scenes = fileURLToPath(new URL('../../../shared/scenes', import.meta.url));

interface Cell {
  readonly errorMm: number;
  readonly u: number;
}

/**
 * Every cell of the coverage picture against the truth: the pixel at which a rail over a true place appears, by the true
 * camera, is read with the measured camera; the clearance that this gives, against the true one.
 */
function cellsAgainstTruth(report: Report, truth: SceneTruth): Cell[] {
  const { coverage } = report;
  if (!coverage) throw new Error('the report has no coverage');
  const solved = cameraOf(report.photos[0].camera);
  const real = cameraOf({ ...truth.camera, rotation: truth.camera.R, translation: truth.camera.t });
  const axisMm = truth.profile.rail_top - truth.profile.head_diameter / 2;
  const out: Cell[] = [];
  const { length, width } = truth.table;
  for (let x = 20; x < length; x += 40)
    for (let y = 20; y < width; y += 40) {
      const px = photoFromTable(real, x, y, axisMm);
      const at = tableFromPhotoAtHeight(solved, px.x, px.y, axisMm);
      const column = Math.floor((at.x - coverage.origin[0]) / coverage.cellMm[0]);
      const row = Math.floor((at.y - coverage.origin[1]) / coverage.cellMm[1]);
      if (column < 0 || row < 0 || column >= coverage.columns || row >= coverage.rows) continue;
      const u = coverage.cells[row * coverage.columns + column];
      if (typeof u !== 'number') continue;
      // Measured sides by name are not those of the truth: the true distance is the nearest of the four to what was read.
      const read = nearestSide(report, at.x, at.y);
      const errors = [x, length - x, y, width - y].map((d) => read - d);
      out.push({ errorMm: errors.reduce((a, b) => (Math.abs(b) < Math.abs(a) ? b : a)), u });
    }
  return out;
}

/** Distance to the nearest measured side whose foot lies on it, square to it. */
function nearestSide(report: Report, x: number, y: number): number {
  return Math.min(
    ...report.table.sides.map(({ from, to }) => {
      const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
      const [c, s] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
      const along = (x - from[0]) * c + (y - from[1]) * s;
      const left = -(x - from[0]) * s + (y - from[1]) * c;
      return along < -1 || along > length + 1 || left < 0 ? Number.POSITIVE_INFINITY : left;
    }),
  );
}

async function measured(folder: string, name: string, markerSideMm: number): Promise<[Report, SceneTruth]> {
  const bytes = readFileSync(join(folder, `${name}.jpg`));
  const options = { track: tallTrack, markerSideMm, tapeChecks: [], borderModules: 1 } as const;
  const result = await measureTable([{ name: `${name}.jpg`, bytes }], options, {});
  if (!result.ok) throw new Error(result.problem.code);
  return [result.value.report, JSON.parse(readFileSync(join(folder, `${name}.json`), 'utf8')) as SceneTruth];
}

describe.each([
  { folder: samples, name: 'birch-oval', side: 150 },
  { folder: scenes, name: 'D8', side: 150 },
])('the coverage picture of $name', ({ folder, name, side }) => {
  it.skipIf(!existsSync(join(folder, `${name}.jpg`)))(
    'promises no less than the errors that there are, and not ten times as much',
    async () => {
      const [report, truth] = await measured(folder, name, side);
      const cells = cellsAgainstTruth(report, truth);
      expect(cells.length).toBeGreaterThan(500);
      const within = cells.filter((c) => Math.abs(c.errorMm) < coverage95 * c.u).length / cells.length;
      expect(within).toBeGreaterThan(0.9);
      // All places of one photo share one camera's errors, so that one photo may lie inside as a whole: the spread of
      // errors may be small against u, but a promise ten times too wide would be of no use to anyone.
      const rms = Math.sqrt(cells.reduce((sum, c) => sum + (c.errorMm / c.u) ** 2, 0) / cells.length);
      expect(rms).toBeGreaterThan(0.1);
      expect(rms).toBeLessThan(1.3);
    },
  );
});
