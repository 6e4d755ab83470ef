import { describe, expect, it } from 'vitest';
import { alongPiece } from '../../../../server/contract/along-piece.js';
import { type Corrections, noCorrections } from '../../../../server/contract/corrections.js';
import { type CorrectedPhoto, correctedBy, outlineOn, type Pixel } from '../../../../web/canvas/correct-by-touch.js';
import { correctionMarks } from '../../../../web/canvas/correction-marks.js';
import { photoFrame } from '../../../../web/canvas/picture-frame.js';
import { changesBetween } from '../../../../web/canvas/report-changes.js';
import { reportFromTruth } from '../../../support/report-from-truth.js';
import { sceneTruth } from '../../../support/scene-truth.js';

const truth = sceneTruth('birch-oval');

describe.skipIf(!truth)('correcting by touching a photo', () => {
  if (!truth) return;
  const report = reportFromTruth(truth, 'birch-oval.jpg');
  const on = (corrections: Corrections = noCorrections): CorrectedPhoto => ({
    report,
    photo: report.photos[0],
    photoId: 'photo-1',
    corrections,
  });
  const only = (c: Corrections | null) => {
    if (c?.list.length !== 1) throw new Error('one correction was expected');
    return c.list[0];
  };
  const outline = (c: Corrections | null) => {
    const made = only(c);
    if (made.kind !== 'table-outline') throw new Error(made.kind);
    return made.corners;
  };

  it('starts from the corners where the photo shows them', () => {
    outlineOn(on()).forEach((c, i) => {
      expect(Math.hypot(c.at[0] - truth.table.corners_px[i][0], c.at[1] - truth.table.corners_px[i][1])).toBeLessThan(
        0.5,
      );
    });
  });

  it('moves the nearest corner and remembers which one a person set', () => {
    const corners = outlineOn(on());
    const at: Pixel = [corners[2].at[0] + 30, corners[2].at[1] - 20];
    const moved = outline(correctedBy('corner-moved', [at], on(), 'a'));
    expect(moved.map((c) => c.set)).toEqual([false, false, true, false]);
    expect(moved[2].at).toEqual(at);
    expect(moved[1]).toEqual(corners[1]);
  });

  it('keeps one outline for a photo: a second touch takes its place, as one that is not measured yet', () => {
    const [a, b] = outlineOn(on()).map((c): Pixel => [c.at[0] + 9, c.at[1]]);
    const first = correctedBy('corner-moved', [a], on(), 'one');
    const second = correctedBy('corner-moved', [b], on(first ?? noCorrections), 'two');
    expect(only(second).id).toBe('two');
    expect(outline(second).filter((c) => c.set)).toHaveLength(2);
  });

  it('moves a side onto two places: both corners slide along their other sides', () => {
    const [a, b] = outlineOn(on()).map((c) => c.at);
    const out = (t: number): Pixel => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]) + 40];
    const moved = outline(correctedBy('side-moved', [out(0.2), out(0.8)], on(), 'a'));
    expect(moved.map((c) => c.set)).toEqual([true, true, false, false]);
    const [p, q] = [moved[0].at, moved[1].at];
    for (const t of [0.2, 0.8]) {
      const [x, y] = out(t);
      const off = ((q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0])) / Math.hypot(q[0] - p[0], q[1] - p[1]);
      expect(Math.abs(off)).toBeLessThan(0.01);
    }
  });

  it('adds a corner in the nearest side and takes it out again', () => {
    const [a, b] = outlineOn(on()).map((c) => c.at);
    const at: Pixel = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2 + 50];
    const added = correctedBy('corner-added', [at], on(), 'a');
    expect(outline(added).map((c) => c.at)[1]).toEqual(at);
    expect(outline(added)).toHaveLength(5);
    const removed = correctedBy('corner-removed', [at], on(added ?? noCorrections), 'b');
    expect(outline(removed)).toHaveLength(4);
  });

  it('takes a whole run, or the part between two places of it, for no track', () => {
    const frame = photoFrame(report.photos[0]);
    const centre = report.runs[0].pieces.map((piece) => {
      const line = alongPiece(piece, 0);
      const [x, y] = line[line.length >> 1];
      const p = frame.pictureFromTable(x, y, 17.5);
      return [p?.x ?? 0, p?.y ?? 0] as Pixel;
    });
    const lengthOf = (c: Corrections | null): number => {
      const made = only(c);
      if (made.kind !== 'no-track-along') throw new Error(made.kind);
      return made.line.reduce(
        (sum, p, i) => (i === 0 ? 0 : sum + Math.hypot(p[0] - made.line[i - 1][0], p[1] - made.line[i - 1][1])),
        0,
      );
    };
    const whole = lengthOf(correctedBy('run-false', [centre[0]], on(), 'a'));
    const part = lengthOf(correctedBy('part-false', [centre[0], centre[2]], on(), 'a'));
    const across = lengthOf(correctedBy('part-false', [centre[0], centre[centre.length - 2]], on(), 'a'));
    expect(whole).toBeGreaterThan(3000);
    expect(part).toBeLessThan(0.3 * whole);
    // On a loop the shorter way round is meant.
    expect(across).toBeLessThan(0.5 * whole);
  });

  it('says null where too few places are touched, and draws what was made only on its photo', () => {
    expect(correctedBy('gap-missed', [[1, 2]], on(), 'a')).toBeNull();
    const made = correctedBy(
      'gap-missed',
      [
        [1, 2],
        [30, 2],
      ],
      on(),
      'a',
    );
    expect(only(made)).toMatchObject({
      kind: 'open-gap',
      photo: 'photo-1',
      ends: [
        [1, 2],
        [30, 2],
      ],
    });
    expect(correctionMarks(made?.list ?? [], 'photo-1')).toHaveLength(1);
    expect(correctionMarks(made?.list ?? [], 'photo-2')).toHaveLength(0);
  });

  it('tells what a new measurement changed: by place on the photo, whatever the gaps are numbered', () => {
    const gaps = report.joints.filter((j) => j.open);
    const joints = report.joints
      .filter((j) => j !== gaps[0])
      .map((j) => (j === gaps[1] ? { ...j, gap: { ...j.gap, value: j.gap.value + 2 } } : j));
    const changes = changesBetween(report, { ...report, joints });
    expect(changes.map((c) => [c.before !== null, c.after !== null])).toEqual([
      [true, true],
      [true, false],
    ]);
    expect((changes[0].after?.value ?? 0) - (changes[0].before?.value ?? 0)).toBeCloseTo(2, 9);
    expect(changesBetween(report, report)).toEqual([]);
  });
});
