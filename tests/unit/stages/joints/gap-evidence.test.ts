import { describe, expect, it } from 'vitest';
import {
  cannotBeGap,
  type GapEvidence,
  isGap,
  isGapByTable,
  isSurelyTable,
  never,
  tableForPair,
  tableForSpan,
} from '../../../../server/stages/joints/gap-evidence.js';

/** Plain in every way but for what is given. */
const seen = (given: Partial<GapEvidence>): GapEvidence => ({
  gapMm: 30,
  clearness: [0.85, 0.85],
  heads: 0.9,
  table: 0.9,
  shown: { within: 2, step: 2.5, sum: 50 },
  ...given,
});

describe('a stretch between two ends that face each other', () => {
  it('is a gap where heads end and table shows in the place of the flanges, also where pins fill much of it', () => {
    expect(isGap(seen({ table: 0.45 }), never)).toBe(true);
    expect(isGap(seen({ table: 0.35 }), never)).toBe(false);
  });

  it('is none where the shade of a wagon begins on a white table', () => {
    // As measured over 33 mm of covered and shaded track; the other gap of 46 mm, under rust.
    const shade = { gapMm: 33, clearness: [0.52, 0.73], heads: 0.52, table: 0.81 } as const;
    expect(isGap(seen({ ...shade, shown: { within: 1.25, step: 1.24, sum: 33.7 } }), never)).toBe(false);
    const rust = { gapMm: 45.9, clearness: [0.62, 0.76], heads: 0.53, table: 1 } as const;
    expect(isGap(seen({ ...rust, shown: { within: 1.36, step: 2.35, sum: 60 } }), never)).toBe(true);
  });

  it('is a gap where rust leaves little of the heads’ ends, but none where the heads hardly change', () => {
    // As measured of a gap of 8.9 mm, rust on both ends.
    const rusty = {
      gapMm: 8.86,
      clearness: [0.85, 0.42],
      table: 0.75,
      shown: { within: 2, step: 3.84, sum: 17.7 },
    } as const;
    expect(isGap(seen({ ...rusty, heads: 0.19 }), never)).toBe(true);
    expect(isGap(seen({ ...rusty, heads: 0.1 }), never)).toBe(false);
  });

  it('is a gap where pins fill a short one from end to end, as the flanges’ place tells', () => {
    // As measured of a gap of 9.9 mm over which three pins reach.
    const filled = { gapMm: 9.97, clearness: [0.37, 0.9], heads: 0.49, table: 0.49 } as const;
    expect(isGap(seen({ ...filled, shown: { within: 1.88, step: 3.71, sum: 14.5 } }), never)).toBe(true);
    const plainEnd = { ...filled, clearness: [0.41, 0.92] as const };
    expect(isGap(seen({ ...plainEnd, shown: { within: 1.88, step: 3.71, sum: 14.5 } }), never)).toBe(true);
    expect(isGap(seen({ ...filled, shown: { within: 1.2, step: 3.71, sum: 9 } }), never)).toBe(false);
    expect(isGap(seen({ ...filled, gapMm: 20, shown: { within: 1.88, step: 3.71, sum: 30 } }), never)).toBe(false);
    expect(isGap(seen({ ...filled, heads: 0.1, shown: { within: 1.88, step: 3.71, sum: 14.5 } }), never)).toBe(false);
  });

  it('is a gap where it is plain, however clear the ends are that rust makes', () => {
    // As measured of a gap of 10.6 mm on a white table, where as much along the run seems to end.
    const plain = { gapMm: 10.8, clearness: [0.97, 0.6], heads: 0.81, table: 0.98 } as const;
    const shown = { within: 0.31, step: 1.51, sum: 3.4 };
    expect(tableForPair(0.6, 0.75)).toBe(never);
    expect(isGap(seen({ ...plain, shown }), never)).toBe(true);
    for (const less of [
      { clearness: [0.85, 0.6] as const },
      { clearness: [0.97, 0.5] as const },
      { heads: 0.7 },
      { table: 0.9 },
    ])
      expect(isGap(seen({ ...plain, shown, ...less }), never)).toBe(false);
  });

  it('is none where the flanges’ place tells little, and ends and table are not plain', () => {
    const vague = { clearness: [0.7, 0.7] as const, shown: { within: 0.3, step: 0.5, sum: 5 } };
    expect(isGap(seen({ ...vague, table: 0.85 }), 0.4)).toBe(false);
    expect(isGap(seen({ ...vague, heads: 0.4 }), 0.4)).toBe(false);
    expect(isGap(seen({ ...vague, table: 0.95, heads: 0.5 }), 0.4)).toBe(true);
  });

  it('is none where a dark tie on a dark table hides the flanges: both its ends are vague', () => {
    // As measured at such a tie.
    const tie = { gapMm: 6.65, clearness: [0.66, 0.65], heads: 0.38, table: 0.67 } as const;
    expect(isGap(seen({ ...tie, shown: { within: 1.86, step: 3.74, sum: 12.1 } }), never)).toBe(false);
  });

  it('is none by one clear end where as much table seems to show beside it, as rust makes it', () => {
    // As measured between spots of rust on a white table.
    const rust = { gapMm: 17, clearness: [0.5, 1], heads: 0.33, table: 0.89 } as const;
    expect(isGap(seen({ ...rust, shown: { within: 0.5, step: -0.06, sum: 9.8 } }), 0.81)).toBe(false);
    expect(isGap(seen({ ...rust, shown: { within: 0.5, step: 0.6, sum: 9.8 } }), 0.81)).toBe(true);
  });

  it('cannot be one where flanges show in it, or where it is long and its ends are vague', () => {
    expect(cannotBeGap(seen({ shown: { within: -0.6, step: 1, sum: -9 } }))).toBe(true);
    expect(cannotBeGap(seen({ clearness: [0.55, 0.9], shown: { within: -0.3, step: 1, sum: -9 } }))).toBe(true);
    expect(cannotBeGap(seen({ clearness: [0.65, 0.9], shown: { within: -0.3, step: 1, sum: -9 } }))).toBe(false);
    expect(cannotBeGap(seen({ gapMm: 120, clearness: [0.45, 0.9], shown: null }))).toBe(true);
    expect(cannotBeGap(seen({ gapMm: 60, clearness: [0.45, 0.9], shown: null }))).toBe(false);
  });

  it('may seem to show flanges in the shade, where both ends are as clear as can be and rails show more beside it', () => {
    // Measured on a dark green table beyond the lamp.
    const shade = seen({
      gapMm: 38.5,
      clearness: [1, 1],
      table: 0.96,
      shown: { within: -0.59, step: 1.3, sum: -18.8 },
    });
    expect(cannotBeGap(shade)).toBe(false);
    expect(isGap(shade, 0.7)).toBe(true);
    expect(cannotBeGap({ ...shade, clearness: [1, 0.9] })).toBe(true);
    expect(cannotBeGap({ ...shade, shown: { within: -0.59, step: 0.8, sum: -18.8 } })).toBe(true);
  });

  it('needs the more table the less clear its ends are, against those that rust makes', () => {
    const needed = [0.95, 0.75, 0.55, 0.4].map((clearness) => tableForPair(clearness, 0.5));
    expect(needed).toEqual([...needed].sort((a, b) => a - b));
    const span = [0.6, 0.45, 0.36, 0.2].map((clearness) => tableForSpan(clearness, 0.5));
    expect(span).toEqual([...span].sort((a, b) => a - b));
    expect(span[3]).toBe(never);
  });
});

describe('table that tells an end of a gap by itself', () => {
  it('shows all through it, but for the pins where it shows as plainly as can be', () => {
    expect(isSurelyTable({ within: 1.6, step: 2.5, sum: 40 }, 0.92)).toBe(true);
    expect(isSurelyTable({ within: 1.6, step: 2.5, sum: 40 }, 0.87)).toBe(false);
    // As measured of a gap of 25.6 mm with pins over half of it, rust on two heads of three.
    expect(isSurelyTable({ within: 2, step: 3.76, sum: 51 }, 0.87)).toBe(true);
    expect(isSurelyTable({ within: 1.4, step: 3.76, sum: 36 }, 0.95)).toBe(false);
  });

  it('is enough for a gap by itself where it is longer than a tie is wide, and the other end is told', () => {
    // As measured of a gap of 14.8 mm: rust hides one end of it from the rails.
    const plain = { within: 1.91, step: 3.83, sum: 25 };
    expect(isGapByTable(plain, 14.7, 0.59)).toBe(true);
    expect(isGapByTable(plain, 7.2, 0.59)).toBe(false);
    expect(isGapByTable(plain, 14.7, 0.5)).toBe(false);
    expect(isGapByTable({ ...plain, within: 1.6 }, 14.7, 0.59)).toBe(false);
  });
});
