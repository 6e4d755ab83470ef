import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';
import { measureTable } from '../../server/pipeline/measure-table.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import type { SceneTruth } from '../support/scene-truth.js';

const maker = fileURLToPath(new URL('../support/photos/make-scene-photos.mjs', import.meta.url));
const distance = (a: readonly number[], b: readonly number[]) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Renders in a process of its own: the test runner's module loader makes such code several times slower. */
function freshPhoto(id: string): { bytes: Buffer; truth: SceneTruth } {
  const folder = mkdtempSync(join(tmpdir(), 'rendered-row-'));
  try {
    execFileSync(process.execPath, [maker, folder, id]);
    const truth = JSON.parse(readFileSync(join(folder, `${id}.json`), 'utf8')) as SceneTruth;
    return { bytes: readFileSync(join(folder, `${id}.jpg`)), truth };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/**
 * A photo rendered here from a description in millimetres, by code that shares nothing with the measuring but the table
 * of marker codes. A pixel is half a millimetre; the bounds are those a filler can be cut from.
 */
it('measures a row of straights in a freshly rendered photo: markers, gaps and clearances', async () => {
  const { bytes, truth } = freshPhoto('small-row');
  const result = await measureTable(
    [{ name: 'small-row.jpg', bytes }],
    { track: tallTrack, markerSideMm: 120, tapeChecks: [], borderModules: 1 },
    {},
  );
  if (!result.ok) throw new Error(result.problem.code);
  const { report } = result.value;

  for (const marker of truth.markers) {
    const own = report.photos[0].markers.find((m) => m.id === marker.id);
    expect(own, `marker ${marker.id}`).toBeDefined();
    const off = marker.corners_px.map((c) => Math.min(...own!.cornersPx.map((q) => distance(c, q))));
    expect(Math.max(...off)).toBeLessThan(0.15);
  }

  const open = truth.joints.filter((j) => j.open);
  expect(open).toHaveLength(2);
  for (const joint of open) {
    const own = report.joints.filter((j) => j.open && j.seen.some((s) => distance(s.px, joint.centre_px) < 15));
    expect(own, `gap of ${joint.gap} mm`).toHaveLength(1);
    expect(Math.abs(own[0].gap.value - joint.gap)).toBeLessThan(1.5);
  }
  expect(report.joints.filter((j) => j.open)).toHaveLength(open.length);

  // Along the row square to a side, and where the row's free end points at a side, which is found less exactly.
  for (const [side, bound] of [
    ['y0', 0.8],
    ['x0', 2.5],
  ] as const) {
    const { clearance, point_px } = truth.side_clearances[side];
    const away = (c: (typeof report.clearances)[number]) => Math.min(...c.seen.map((s) => distance(s.px, point_px)));
    const [own] = [...report.clearances].sort((a, b) => away(a) - away(b));
    expect(away(own)).toBeLessThan(20);
    expect(Math.abs(own.distance.value - clearance), `${side}: ${clearance} mm`).toBeLessThan(bound);
  }
});
