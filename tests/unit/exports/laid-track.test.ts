import { describe, expect, it } from 'vitest';
import { laidTrack, type StraightStroke } from '../../../server/exports/laid-track.js';
import { offsetsOf, tapeStations } from '../../../server/exports/tape-stations.js';
import { gapPlan, gapReport, ovalReport } from '../../support/bench-plans.js';

const lengths = [50.8, 101.6];

describe('laid track', () => {
  it('is the measured track without a plan', () => {
    const report = gapReport(lengths);
    const [run] = laidTrack(report, null);
    const places = run.strokes.flatMap((s) =>
      s.kind === 'curve' ? [[s.from, s.to]] : s.sections.map((section) => [section.from, section.to]),
    );
    expect(places).toEqual(report.runs[0].pieces.map((p) => [p.from, p.to]));
  });

  it('joins up end to end where the plan closes the loop', () => {
    const [run] = laidTrack(gapReport(lengths), gapPlan(lengths));
    run.strokes.forEach((stroke, i) => {
      const next = run.strokes[(i + 1) % run.strokes.length];
      // Both straights get 0.3 mm shorter, in opposite directions: the loop stays closed.
      expect(Math.hypot(stroke.to[0] - next.from[0], stroke.to[1] - next.from[1])).toBeLessThan(1e-9);
    });
  });

  it('moves what lies behind a longer stretch, and only that, and turns nothing', () => {
    const report = gapReport(lengths);
    const plan = gapPlan(lengths);
    plan.stretches[0].thenMm = plan.stretches[0].nowMm + 25.4;
    plan.stretches[1].thenMm = plan.stretches[1].nowMm;
    plan.shift = { R1: [2, -3] };
    const before = laidTrack(report, null)[0].strokes;
    const after = laidTrack(report, plan)[0].strokes;
    const moves = after.map((s, i) => [s.from[0] - before[i].from[0], s.from[1] - before[i].from[1]]);
    expect(moves[0]).toEqual([expect.closeTo(2, 9), expect.closeTo(-3, 9)]);
    for (const move of moves.slice(1)) expect(move).toEqual([expect.closeTo(27.4, 9), expect.closeTo(-3, 9)]);
  });

  it('places sections and fillers in their order, as long as the plan says', () => {
    const [run] = laidTrack(gapReport(lengths), gapPlan(lengths));
    const straight = run.strokes[0] as StraightStroke;
    expect(straight.sections.map((s) => s.filler)).toEqual([null, 'F1', null]);
    for (const s of straight.sections) {
      expect(Math.hypot(s.to[0] - s.from[0], s.to[1] - s.from[1])).toBeCloseTo(s.lengthMm, 9);
    }
    expect(straight.sections[1].lengthMm).toBe(50.8);
    expect(straight.sections[1].from[0]).toBeCloseTo(straight.sections[0].to[0], 6);
  });

  it('takes an open gap between a curve and a straight into the straight', () => {
    const report = ovalReport([]);
    const pieces = report.runs[0].pieces;
    const first = pieces[0];
    if (first.kind !== 'straight') throw new Error('the oval starts with a straight');
    first.from = [first.from[0] + 60, first.from[1]];
    const joint = { id: 'J9', run: 'R1', at: [first.from[0] - 30, first.from[1]] as [number, number], open: true };
    report.joints.push({ ...joint, gap: { value: 60, u: 0.2 }, seen: [] });
    const plan = gapPlan([]);
    plan.stretches[0] = {
      ...plan.stretches[0],
      pieces: [0],
      nowMm: 1140,
      thenMm: 1140,
      order: [{ filler: 'F1' }, { piece: 0 }],
    };
    plan.fillers = [{ id: 'F1', lengthMm: 60, label: '', run: 'R1', joint: 'J9' }];
    const straight = laidTrack(report, plan)[0].strokes[0] as StraightStroke;
    expect(straight.from[0]).toBeCloseTo(first.from[0] - 60, 9);
    expect(straight.to[0] - straight.from[0]).toBeCloseTo(1140, 9);
  });
});

describe('tape stations', () => {
  const report = gapReport(lengths);
  const stations = tapeStations(report, laidTrack(report, null));

  it('are the ends of straights and the middles of turns, each once, in laying order', () => {
    expect(stations.map((s) => s.what)).toEqual([
      'start of the straight',
      'straight meets turn',
      'joint in the middle of the turn',
      'turn meets straight',
      'straight meets turn',
      'joint in the middle of the turn',
    ]);
    expect(stations.map((s) => s.number)).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('give back the place when both offsets are laid off from their edges', () => {
    for (const station of stations) {
      expect(station.offsets).toHaveLength(2);
      const place: Record<string, number> = Object.fromEntries(station.offsets.map((o) => [o.side, o.lengthMm]));
      const x = place.D ?? 2440 - place.B;
      const y = place.A ?? 1220 - place.C;
      expect(Math.hypot(x - station.at[0], y - station.at[1])).toBeLessThan(1e-6);
    }
  });

  it('measure from the nearest edge first and never from two edges that run alike', () => {
    const offsets = offsetsOf([100, 40], report.table.sides);
    expect(offsets).toEqual([
      { side: 'A', lengthMm: 40 },
      { side: 'D', lengthMm: 100 },
    ]);
    expect(offsetsOf([100, 40], [report.table.sides[0], report.table.sides[2]])).toHaveLength(1);
    expect(offsetsOf([100, 40], [])).toEqual([]);
  });

  it('leave out edges that no photo showed', () => {
    const partly = ovalReport([]);
    partly.table.sides[0].seen = false;
    partly.table.sides[3].seen = false;
    const used = tapeStations(partly, laidTrack(partly, null)).flatMap((s) => s.offsets.map((o) => o.side));
    expect([...new Set(used)].sort()).toEqual(['B', 'C']);
  });

  it('start an open run at its first end and stop at its last', () => {
    const open = ovalReport([]);
    open.runs[0].closed = false;
    const places = tapeStations(open, laidTrack(open, null));
    expect(places[0].at).toEqual(open.runs[0].pieces[0].from);
    expect(places.at(-1)?.what).toBe('end of the turn');
  });
});
