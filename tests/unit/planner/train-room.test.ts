import { describe, expect, it } from 'vitest';
import { chainsOf } from '../../../server/planner/chain.js';
import { overhang } from '../../../server/planner/overhang.js';
import { tableShape } from '../../../server/planner/table-shape.js';
import { measuredLines } from '../../../server/planner/track-line.js';
import { roomBetween, trainRoom } from '../../../server/planner/train-room.js';
import { makeReport, oval, rectangle } from '../../support/make-report.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

const car = { lengthMm: 381, truckCentresMm: 266.7, widthMm: 69.9 };
const s = (straight: number) => ({ straight });

describe('train room', () => {
  it('agrees with the exact overhang where a car stands on one curve', () => {
    const report = ovalReport([s(508)], [s(508)], { table: rectangle(2000, 1200), start: [700, 200] });
    const room = trainRoom(measuredLines(chainsOf(report)), car, { table: tableShape(report), zones: [] });
    const toRight = room.places.find((p) => p.kind === 'edge' && p.against === 'B');
    const reach = 700 + 508 + 381 + overhang(381, car).outside;
    expect(toRight?.roomMm).toBeCloseTo(2000 - reach, 0);
    expect(toRight?.roomMm).toBeGreaterThanOrEqual(2000 - reach - 0.01);
  });

  it('finds half the width beside a straight', () => {
    const report = ovalReport([s(762)], [s(762)], { table: rectangle(2000, 1200), start: [620, 200] });
    const room = trainRoom(measuredLines(chainsOf(report)), car, { table: tableShape(report), zones: [] });
    const low = room.places.find((p) => p.against === 'A');
    expect(low?.roomMm).toBeLessThanOrEqual(200 - car.widthMm / 2 + 0.01);
  });

  it('shows the tightest place first, between parallel tracks too', () => {
    const runs = [
      oval('R1', { start: [700, 314.3], headingDeg: 0, radius: 381 }, [s(508)], [s(508)]),
      oval('R2', { start: [700, 200], headingDeg: 0, radius: 495.3 }, [s(508)], [s(508)]),
    ];
    const report = makeReport({ runs, outline: rectangle(2400, 1400) });
    const room = trainRoom(measuredLines(chainsOf(report)), car, { table: tableShape(report), zones: [] });
    expect(room.tightest?.kind).toBe('track');
    const outer = overhang(381, car).outside;
    const inner = overhang(495.3, car).inside;
    expect(room.tightest?.roomMm).toBeCloseTo(114.3 - outer - inner, -0.3);
  });

  it('measures to the outline of a zone, and says how deep a car is in it', () => {
    const zone = {
      name: 'tower',
      centre: [950, 290] as [number, number],
      widthMm: 90,
      depthMm: 90,
      angleRad: 0,
      marginMm: 5,
    };
    const report = ovalReport([s(762)], [s(762)], { start: [620, 200] });
    const room = trainRoom(measuredLines(chainsOf(report)), car, { table: tableShape(report), zones: [zone] });
    expect(room.places.find((p) => p.kind === 'zone')?.roomMm).toBeCloseTo(290 - 45 - 200 - car.widthMm / 2, 1);
    const closer = { ...zone, centre: [950, 270] as [number, number] };
    const hit = trainRoom(measuredLines(chainsOf(report)), car, { table: tableShape(report), zones: [closer] });
    expect(hit.tightest?.roomMm).toBeCloseTo(270 - 45 - 200 - car.widthMm / 2, 1);
  });

  it('finds room between two parts of one run that lie side by side, and nothing to itself on a plain loop', () => {
    const short = { lengthMm: 228.6, truckCentresMm: 139.7, widthMm: 63.5 };
    const turn = { radius: 90, degrees: 180 };
    const folded = { id: 'R1', closed: false, start: [300, 300] as const, headingDeg: 0 };
    const report = makeReport({
      runs: [{ ...folded, sections: [s(762), turn, s(762)] }],
      outline: rectangle(2000, 1200),
    });
    const room = trainRoom(measuredLines(chainsOf(report)), short, { table: tableShape(report), zones: [] });
    const beside = room.places.find((p) => p.kind === 'track');
    expect(beside).toMatchObject({ run: 'R1', against: 'R1' });
    expect(beside?.roomMm).toBeLessThanOrEqual(180 - short.widthMm + 0.01);
    const loop = ovalReport([s(762)], [s(762)], { start: [620, 200] });
    const none = trainRoom(measuredLines(chainsOf(loop)), car, { table: tableShape(loop), zones: [] });
    expect(none.places.filter((p) => p.kind === 'track')).toEqual([]);
  });

  it('measures the distance of convex outlines whichever way they lie', () => {
    const square = (x: number): [number, number][] => [
      [x, 0],
      [x + 10, 0],
      [x + 10, 10],
      [x, 10],
    ];
    expect(roomBetween(square(0), square(15)).roomMm).toBeCloseTo(5, 9);
    expect(roomBetween(square(0), square(8)).roomMm).toBeCloseTo(-2, 9);
  });

  it('is part of a plan when a car is given, and rails near the edge are flagged', async () => {
    const report = ovalReport([s(254)], [s(254)], { start: [600, 60] });
    const plan = await planChecked(report, wishesOf({ car, safetyMm: 50 }), stockOf([254]));
    expect(plan.trainRoom?.tightest).toMatchObject({ against: 'A', kind: 'edge' });
    expect(plan.warnings.map((w) => w.code)).toContain('near-the-edge');
    const { inside, outside } = overhang(381, car);
    expect(plan.trainRoom?.overhangs).toHaveLength(1);
    expect(plan.trainRoom?.overhangs?.[0].insideMm).toBeCloseTo(inside, 1);
    expect(plan.trainRoom?.overhangs?.[0].outsideMm).toBeCloseTo(outside, 1);
  });
});
