import { describe, expect, it } from 'vitest';
import { endPairs } from '../../../../server/stages/joints/end-pairs.js';
import { findSectionEnd } from '../../../../server/stages/joints/rail-end.js';
import type { RailPart } from '../../../../server/stages/joints/rail-parts.js';
import { seededRandom } from '../../../support/seeded-random.js';

const stepMm = 0.5;
const columns = 13;
const blurMm = 0.6;

/** Share of the rail's look at s: 1 before `stop`, 0 in the gap, 1 from `start` on, blurred. */
function railShare(s: number, stop: number, start: number): number {
  const edge = (d: number): number => 1 / (1 + Math.exp(-d / (blurMm / 1.7)));
  return edge(stop - s) + edge(s - start);
}

const noShift = (_: number): number => 0;

/** Three heads with a bright crest over a table of middling brightness; a pin reaches pinMm into the gap from `start`. */
function heads(stop: number, start: number, pinMm: number, seed: number, shiftMm = noShift): RailPart[] {
  const random = seededRandom(seed);
  const rows = 401;
  return [-1, 0, 1].map((rail, r) => {
    const data = new Float32Array(rows * columns);
    for (let i = 0; i < rows; i++)
      for (let k = 0; k < columns; k++) {
        const off = (k - 6) / 6;
        const head = 0.08 + 0.8 * Math.exp(-((off / 0.35) ** 2));
        const s = i * stepMm - shiftMm(k);
        const pin = s > start - pinMm && s < start && Math.abs(off) < 0.45 ? 0.75 : 0.35;
        const share = railShare(s, stop, start);
        data[i * columns + k] = share * head + (1 - share) * pin + 0.015 * (random() - 0.5);
      }
    const strip = { rail: rail as -1 | 0 | 1, stepMm, rows, columns, acrossStepMm: 0.35, data };
    const all = Array.from({ length: columns }, (_, k) => k);
    return {
      rail: r,
      acrossMm: 18 * rail,
      strip,
      columnsAt: () => all,
      part: 'head' as const,
      slopesAt: () => ({ along: 0, left: 0 }),
      shiftMmAt: (_: number, k: number) => shiftMm(k),
      overFlangeMm: 10.5,
      faceMmAt: () => 0,
      brightestAt: (row: number) => data.subarray(row * columns, (row + 1) * columns),
    };
  });
}

describe('the end that the rails of a section have in common', () => {
  it.each([
    { stop: 80.3, start: 131.1, pinMm: 14 },
    { stop: 95.7, start: 112.2, pinMm: 12 },
    { stop: 70, start: 100.4, pinMm: 0 },
  ])(
    'is found within 0.2 mm on both sides of a gap, with pins or without: $stop … $start',
    ({ stop, start, pinMm }) => {
      const views = heads(stop, start, pinMm, 7);
      const width = start - stop;
      const before = findSectionEnd(views, stop + 3, 1, width, 10, 4);
      const after = findSectionEnd(views, start - 4, -1, width, 10, 4);
      expect(before?.at).toBeGreaterThan(stop - 0.2);
      expect(before?.at).toBeLessThan(stop + 0.2);
      expect(after?.at).toBeGreaterThan(start - 0.2);
      expect(after?.at).toBeLessThan(start + 0.2);
      expect(Math.min(before?.clearness ?? 0, after?.clearness ?? 0)).toBeGreaterThan(0.6);
    },
  );

  it('is found as well in a slanting view, where each column shows the square end elsewhere', () => {
    const shift = (k: number): number => 0.4 - 1.1 * Math.sqrt(1 - ((k - 6) / 6.5) ** 2);
    const views = heads(80.3, 131.1, 14, 9, shift);
    const before = findSectionEnd(views, 83, 1, 50.8, 10, 4);
    const after = findSectionEnd(views, 127, -1, 50.8, 10, 4);
    expect(Math.abs((before?.at ?? 0) - 80.3)).toBeLessThan(0.15);
    expect(Math.abs((after?.at ?? 0) - 131.1)).toBeLessThan(0.15);
  });

  it('is not clear where the rails go on', () => {
    const end = findSectionEnd(heads(500, 600, 0, 3), 100, 1, 20, 10, 4);
    expect(end?.clearness ?? 0).toBeLessThan(0.3);
  });
});

/** Heads and flanges that end at `stop`; every third column of their last tipMm lies in another light; pins go on. */
function tipped(stop: number, tipMm: number, pinMm: number, along: number): RailPart[] {
  const random = seededRandom(21);
  const rows = 301;
  return (['head', 'flange'] as const).flatMap((part) =>
    [-1, 0, 1].map((rail, r) => {
      const data = new Float32Array(rows * columns);
      for (let i = 0; i < rows; i++)
        for (let k = 0; k < columns; k++) {
          const s = i * stepMm;
          const pin = part === 'head' && s < stop + pinMm && Math.abs(k - 6) < 3;
          const rails = s < stop - tipMm || k % 3 > 0 ? 0.1 : 0.75;
          data[i * columns + k] = (s < stop ? rails : pin ? 0.75 : 0.3) + 0.015 * (random() - 0.5);
        }
      const strip = { rail: rail as -1 | 0 | 1, stepMm, rows, columns, acrossStepMm: 0.35, data };
      const all = Array.from({ length: columns }, (_, k) => k);
      const slopesAt = () => ({ along, left: 0 });
      return {
        rail: r,
        acrossMm: 18 * rail,
        strip,
        columnsAt: () => all,
        part,
        slopesAt,
        shiftMmAt: noShift,
        overFlangeMm: 10.5,
        faceMmAt: noShift,
        brightestAt: (row: number) => data.subarray(row * columns, (row + 1) * columns),
      };
    }),
  );
}

describe('the tip of rails in another light', () => {
  it('belongs to the rails where the end looks away from the eye', () => {
    const end = findSectionEnd(tipped(90, 5, 0, -0.3), 86, 1, 30, 10, 10);
    expect(end?.at).toBeGreaterThan(89.7);
    expect(end?.at).toBeLessThan(90.3);
  });

  it('is no tip where only pins go on', () => {
    const end = findSectionEnd(tipped(90, 0, 6, -0.3), 88, 1, 30, 10, 10);
    expect(end?.at).toBeGreaterThan(89.7);
    expect(end?.at).toBeLessThan(90.3);
  });
});

/** Heads that end at 90 with a dark rim, and whose upright faces are seen for faceMm, as bright as they, their shadow on the table. */
function faced(faceMm: number, along: number): RailPart[] {
  const light = (part: RailPart['part'], s: number): number => {
    if (s < 90) return part === 'head' ? 0.5 : 0.15;
    if (s < 90 + faceMm) return part === 'head' && s >= 91.5 ? 0.5 : 0.15;
    return part === 'head' ? 0.1 : 0.6;
  };
  return tipped(90, 0, 0, along).map((view, n) => {
    const random = seededRandom(30 + n);
    const data = view.strip.data.map((_, i) => light(view.part, Math.floor(i / columns) * stepMm) + 0.015 * random());
    return { ...view, strip: { ...view.strip, data } };
  });
}

describe('the end of rails that faces the eye', () => {
  it.each([0, 3, 3.5])('is where the heads end, not where a lit upright face of %f mm does', (faceMm) => {
    const end = findSectionEnd(faced(faceMm, 0.35), 92, 1, 30, 10, 10);
    expect(Math.abs((end?.at ?? 0) - 90)).toBeLessThan(0.7);
  });

  it('is where what shows ends if that is longer than a face can be', () => {
    expect(findSectionEnd(faced(3.5, 0.1), 92, 1, 30, 10, 10)?.at).toBeGreaterThan(93);
  });
});

describe('ends that face each other', () => {
  it('are found along a whole run without a hint', () => {
    // Each end is then looked for within 3 mm of these places.
    const { pairs } = endPairs(heads(95.7, 112.2, 12, 5), { shortestMm: 4, longestMm: 90, leastClearness: 0.5 });
    expect(pairs.some((p) => Math.abs(p.from - 95.7) < 2.5 && Math.abs(p.to - 112.2) < 2.5)).toBe(true);
  });

  it('are none on a run without a gap', () => {
    const { pairs } = endPairs(heads(500, 600, 0, 11), { shortestMm: 4, longestMm: 90, leastClearness: 0.5 });
    expect(pairs).toEqual([]);
  });
});
