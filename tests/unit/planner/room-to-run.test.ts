import { describe, expect, it } from 'vitest';
import { rectangle } from '../../support/make-report.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

/** It reaches 34 mm beyond the rails of a curve of 381 mm. */
const car = { lengthMm: 381, truckCentresMm: 266.7, widthMm: 69.9 };
const s = (straight: number) => ({ straight });
const sections = [s(254), s(127), s(254)];

describe('room for the longest car', () => {
  const report = ovalReport(sections, [...sections].reverse(), { start: [430, 200], table: rectangle(1830, 1200) });
  const clearance = [{ side: 'D', atLeastMm: 508 }];
  const clearanceB = (plan: Awaited<ReturnType<typeof planChecked>>) =>
    plan.predicted.clearances.find((c) => c.side === 'B')?.distance.value;

  it('takes longer sections out where the car would run over the edge otherwise, and meets the wish as well', async () => {
    const prefer = 'largest-loop';
    const without = await planChecked(report, wishesOf({ clearance, prefer, safetyMm: 5 }), stockOf([]));
    expect(clearanceB(without)).toBeCloseTo(1830 - 508 - (2 * 381 + 508 + 40.95), 0);
    const plan = await planChecked(report, wishesOf({ clearance, prefer, safetyMm: 5, car }), stockOf([]));
    expect(plan.unmet).toEqual([]);
    expect(clearanceB(plan)).toBeGreaterThan(34);
    expect(plan.trainRoom?.tightest?.roomMm).toBeGreaterThan(0);
  });

  it('moves a loop away from a place that the car would hit though its rails are clear of it', async () => {
    const small = ovalReport([s(254)], [s(254)], { start: [700, 300], table: rectangle(1830, 1300) });
    const right = 700 + 254 + 381 + 20.475;
    const zone = { name: 'Station', centre: [right + 5 + 100, 681], widthMm: 200, depthMm: 100, marginMm: 2 };
    const wishes = { keepFree: [zone] };
    const still = await planChecked(small, wishesOf(wishes), stockOf([]));
    expect(still.shift.R1).toEqual([0, 0]);
    const plan = await planChecked(small, wishesOf({ ...wishes, car }), stockOf([]));
    expect(plan.unmet).toEqual([]);
    expect(plan.changedSections).toBe(0);
    expect(plan.trainRoom?.tightest?.roomMm).toBeGreaterThan(0);
  });

  it('breaks a wish before a train runs over the edge', async () => {
    const whole = ovalReport([s(254)], [s(254)], { start: [700, 200], table: rectangle(1500, 1200) });
    const clearanceD = [{ side: 'D', atLeastMm: 680 }];
    const without = await planChecked(whole, wishesOf({ clearance: clearanceD }), stockOf([]));
    expect(without.unmet).toEqual([]);
    const plan = await planChecked(whole, wishesOf({ clearance: clearanceD, car }), stockOf([]));
    expect(plan.trainRoom?.tightest?.roomMm).toBeGreaterThan(0);
    expect(plan.unmet.map((u) => u.wish)).toEqual(['clearance D']);
    expect(plan.unmet[0].shortByMm).toBeLessThan(25);
  });

  it('keeps the plan where no room can be made', async () => {
    const tight = ovalReport([s(254)], [s(254)], { start: [405, 30], table: rectangle(1070, 840) });
    const plan = await planChecked(tight, wishesOf({ car }), stockOf([]));
    expect(plan.trainRoom?.tightest?.roomMm).toBeLessThan(0);
    expect(plan.shift.R1).toEqual([0, 0]);
  });
});
