import { describe, expect, it } from 'vitest';
import { gapOfSlit } from '../../../../server/stages/joints/slit-gap.js';
import { type SlitView, slitStepMm } from '../../../../server/stages/joints/slit-views.js';

const rows = 121;
const row = 60;
const columns = 9;

interface Drawn {
  readonly widthMm: number;
  /** Light in the slit as a share of the part's own: above 1 where a bright table shines through. */
  readonly head: number;
  readonly flange: number;
  readonly blurMm?: number;
  /** Rails differ by this much. */
  readonly unlike?: number;
  readonly columnShiftMm?: number;
  /** Run of the view along the rails for each millimetre of height. */
  readonly along?: number;
}

/** Share of a slit about 0 at s, blurred. */
function slitShare(s: number, widthMm: number, blurMm: number): number {
  const edge = (d: number): number => 1 / (1 + Math.exp((-1.7 * d) / blurMm));
  return edge(s + widthMm / 2) - edge(s - widthMm / 2);
}

function views({ widthMm, head, flange, blurMm = 0.4, unlike = 0, columnShiftMm = 0, along = 0.4 }: Drawn): SlitView[] {
  return (['head', 'flange'] as const).flatMap((part) =>
    [-1, 0, 1].map((rail): SlitView => {
      const data = new Float32Array(rows * columns);
      const inside = (part === 'head' ? head : flange) + unlike * rail;
      for (let i = 0; i < rows; i++)
        for (let k = 0; k < columns; k++) {
          const s = (i - row) * slitStepMm - k * columnShiftMm;
          const own = part === 'head' && k === 4 ? 0.9 : 0.2;
          data[i * columns + k] = own * (1 + (inside - 1) * slitShare(s, widthMm, blurMm));
        }
      return {
        part,
        rail: rail + 1,
        acrossMm: 18 * rail,
        strip: { rail: rail as -1 | 0 | 1, stepMm: slitStepMm, rows, columns, acrossStepMm: 0.4, data },
        columnsAt: () => Array.from({ length: columns }, (_, k) => k),
        slopesAt: () => ({ along, left: 0 }),
        shiftMmAt: (_, k) => k * columnShiftMm,
        overFlangeMm: 10.5,
        faceMmAt: () => 0,
        brightestAt: (row) => data.subarray(row * columns, (row + 1) * columns),
      };
    }),
  );
}

const gapOf = (drawn: Drawn, tableShare = 0.2, pinShare = 0.5): number =>
  gapOfSlit(views(drawn), row, tableShare, pinShare).value;

describe('the gap of a closed joint', () => {
  it.each([0.5, 1, 1.5, 2])('of %d mm, nearly black inside, is told within 0.25 mm', (widthMm) => {
    expect(Math.abs(gapOf({ widthMm, head: 0.12, flange: 0.12 }) - widthMm)).toBeLessThan(0.25);
  });

  it('does not depend on how the picture blurs it', () => {
    const sharp = gapOf({ widthMm: 1, head: 0.1, flange: 0.1, blurMm: 0.2 });
    expect(Math.abs(gapOf({ widthMm: 1, head: 0.1, flange: 0.1, blurMm: 0.5 }) - sharp)).toBeLessThan(0.1);
  });

  it('is told by the part that shows it darker, heads or flanges', () => {
    const byFlanges = gapOf({ widthMm: 1.2, head: 0.8, flange: 0.1 });
    expect(gapOf({ widthMm: 1.2, head: 0.4, flange: 0.1 })).toBeCloseTo(byFlanges, 6);
    const byHeads = gapOf({ widthMm: 1.2, head: 0.1, flange: 1 });
    expect(gapOf({ widthMm: 1.2, head: 0.1, flange: 0.4 })).toBeCloseTo(byHeads, 6);
    for (const gap of [byFlanges, byHeads]) expect(Math.abs(gap - 1.2)).toBeLessThan(0.3);
  });

  it('is wider for the same darkening of heads where the flanges show a lit table in it', () => {
    const drawn = { widthMm: 1.2, head: 0.5 };
    const dark = gapOf({ ...drawn, flange: 1 });
    expect(gapOf({ ...drawn, flange: 1.5 })).toBeGreaterThan(dark + 0.03);
    expect(gapOf({ ...drawn, flange: 9 })).toBeLessThan(dark + 0.15);
  });

  it('is read in each column where that column shows it', () => {
    const straight = gapOf({ widthMm: 1, head: 0.1, flange: 0.1 });
    expect(gapOf({ widthMm: 1, head: 0.1, flange: 0.1, columnShiftMm: 0.12 })).toBeCloseTo(straight, 1);
  });

  it('is wider for the same darkening where a bright table fills the slit with light', () => {
    const drawn = { widthMm: 1, head: 0.4, flange: 0.4 };
    expect(gapOf(drawn, 1.2)).toBeGreaterThan(gapOf(drawn, 0.2) + 0.05);
  });

  it('is wider for the same darkening where the eye looks straight down onto a bright table', () => {
    const drawn = { widthMm: 1, head: 0.5, flange: 0.5 };
    expect(gapOf({ ...drawn, along: 0 }, 1)).toBeGreaterThan(gapOf({ ...drawn, along: -0.8 }, 1) + 0.1);
    expect(gapOf({ ...drawn, along: 0.8 }, 1)).toBeCloseTo(gapOf({ ...drawn, along: -0.8 }, 1), 6);
  });

  it('is wider for the same darkening of heads that a pin fills more', () => {
    const drawn = { widthMm: 1, head: 0.5, flange: 1 };
    expect(gapOf(drawn, 0.2, 0.6)).toBeGreaterThan(gapOf(drawn, 0.2, 0.5) + 0.05);
    expect(gapOf({ ...drawn, head: 1, flange: 0.5 }, 0.2, 0.6)).toBeCloseTo(
      gapOf({ ...drawn, head: 1, flange: 0.5 }, 0.2, 0.5),
      6,
    );
  });

  it('of black heads is no wider than its light, whatever usually shows in it', () => {
    expect(gapOf({ widthMm: 1.8, head: 0.02, flange: 1, blurMm: 0.2, along: 0 }, 1.5)).toBeLessThan(2);
  });

  it('is less sure where the rails differ, and never surer than the light allows', () => {
    const u = (unlike: number): number =>
      gapOfSlit(views({ widthMm: 1.5, head: 0.35, flange: 0.9, unlike }), row, 0.5, 0.5).u;
    expect(u(0)).toBeGreaterThan(0.2);
    expect(u(0.3)).toBeGreaterThan(1.2 * u(0));
  });

  it('stays that of a closed joint', () => {
    expect(gapOf({ widthMm: 1, head: 1, flange: 1.2 })).toBeGreaterThan(0);
    expect(gapOf({ widthMm: 8, head: 0, flange: 0 }, 5)).toBeLessThanOrEqual(3);
  });

  it('is a usual one, and unsure, where the photo does not show both sides', () => {
    const { value, u } = gapOfSlit(views({ widthMm: 2, head: 0.1, flange: 0.1 }), 5, 0.2, 0.5);
    expect(value).toBeGreaterThan(0.3);
    expect(value).toBeLessThan(1.2);
    expect(u).toBeGreaterThan(0.5);
  });

  it('is nearer to a usual one the more the rails differ', () => {
    const wide = { widthMm: 2.4, head: 0.4, flange: 0.9 };
    const alike = gapOf(wide);
    expect(gapOf({ ...wide, unlike: 0.3 })).toBeLessThan(alike - 0.1);
    expect(gapOf({ ...wide, unlike: 0.3 })).toBeGreaterThan(1);
  });
});
