import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { type Correction, correctionsFormat } from '../../server/contract/corrections.js';
import type { Report } from '../../server/contract/report.js';
import { measureTable } from '../../server/pipeline/measure-table.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { samplePath, sceneTruth } from '../support/scene-truth.js';
import { seededRandom } from '../support/seeded-random.js';

const photo = 'birch-oval.jpg';
const truth = sceneTruth('birch-oval');

type Pixel = [number, number];

/** A finger on a magnified picture is off by up to this, pixels in each direction. */
const fingerPx = 7;

async function measuredWith(list: Correction[]): Promise<Report> {
  const bytes = readFileSync(samplePath(photo));
  const corrections = { format: correctionsFormat, list } as const;
  const options = { track: tallTrack, markerSideMm: 150, tapeChecks: [], borderModules: 1, corrections } as const;
  const result = await measureTable([{ name: photo, bytes }], options, {});
  if (!result.ok) throw new Error(result.problem.code);
  return result.value.report;
}

/** The photo has its truth; the fingers are drawn from a seed. */
describe.skipIf(!truth)('corrections made by hand with a finger that is a few pixels off', () => {
  if (!truth) return;
  const random = seededRandom(20);
  const finger = ([x, y]: Pixel): Pixel => [x + (2 * random() - 1) * fingerPx, y + (2 * random() - 1) * fingerPx];
  const open = truth.joints.filter((j) => j.open && j.visible);
  const ends = (j: (typeof open)[number]): [Pixel, Pixel] => [
    finger(j.rails.centre.end_a_px),
    finger(j.rails.centre.end_b_px),
  ];
  const along = truth.sections
    .slice(2, 8)
    .flatMap((s) => [0, 0.5].map((t) => s.rails_px.centre[Math.floor(t * s.rails_px.centre.length)]));

  it('snap to the picture: corners, a run drawn again, a gap marked again measure as if found without help', async () => {
    const report = await measuredWith([
      {
        id: 'outline',
        photo,
        kind: 'table-outline',
        corners: truth.table.corners_px.map((p) => ({ at: finger(p), set: true })),
      },
      { id: 'away', photo, kind: 'no-track-along', line: along },
      { id: 'drawn', photo, kind: 'track-here', line: along.map(finger) },
      { id: 'no gap', photo, kind: 'no-gap', at: finger(open[0].rails.centre.end_a_px) },
      { id: 'gap', photo, kind: 'open-gap', ends: ends(open[0]) },
      { id: 'end', photo, kind: 'rail-end', at: finger(open[1].rails.centre.end_b_px) },
    ]);
    expect(report.corrections?.map((c) => [c.id, c.used])).toEqual(
      ['outline', 'away', 'drawn', 'no gap', 'gap', 'end'].map((id) => [id, true]),
    );
    expect(report.runs.map((r) => r.closed)).toEqual([true]);
    const gaps = report.joints.filter((j) => j.open);
    expect(gaps).toHaveLength(open.length);
    for (const joint of open) expect(Math.min(...gaps.map((g) => Math.abs(g.gap.value - joint.gap)))).toBeLessThan(0.8);
    const sides = report.table.sides.map((s) => s.length.value).sort((a, b) => a - b);
    const wanted = [truth.table.width, truth.table.width, truth.table.length, truth.table.length];
    sides.forEach((length, i) => {
      expect(Math.abs(length - wanted[i])).toBeLessThan(2);
    });
    const clearances = Object.values(truth.side_clearances).map((c) => c.clearance);
    for (const c of report.clearances)
      expect(Math.min(...clearances.map((v) => Math.abs(v - c.distance.value)))).toBeLessThan(1);
  });

  it('take away what is called no track, and say what fits nothing', async () => {
    const [a] = open;
    const report = await measuredWith([
      { id: 'away', photo, kind: 'no-track-along', line: along },
      { id: 'nothing', photo, kind: 'no-gap', at: [10, 10] },
      { id: 'other photo', photo: 'gone.jpg', kind: 'split', at: a.centre_px },
    ]);
    expect(report.corrections?.map((c) => c.used)).toEqual([true, false, false]);
    expect(report.runs.map((r) => r.closed)).toEqual([false]);
    const length = report.runs[0].pieces.reduce(
      (sum, p) => sum + (p.kind === 'straight' ? p.length.value : p.radius.value * Math.abs(p.sweepRad)),
      0,
    );
    const all = truth.sections.reduce((sum, s) => sum + s.length, 0);
    const taken = truth.sections.slice(2, 8).reduce((sum, s) => sum + s.length, 0);
    expect(length).toBeLessThan(all - 0.7 * taken);
    expect(length).toBeGreaterThan(all - 1.3 * taken);
  });
});
