import { describe, expect, it } from 'vitest';
import { levelFunctions, productOf } from '../../../../server/stages/joints/end-levels.js';
import type { RailPart } from '../../../../server/stages/joints/rail-parts.js';
import { settleEnd } from '../../../../server/stages/joints/settled-end.js';
import { seededRandom } from '../../../support/seeded-random.js';

const stepMm = 0.5;
const overFlangeMm = 10.5;
const rows = 161;
const plain = { rail: 0.6, face: 0.2, table: 0.2 };

interface DrawnEnd {
  /** Where each rail ends. */
  readonly endsMm: readonly number[];
  readonly light?: { readonly rail: number; readonly face: number; readonly web?: number; readonly table: number };
  /** How much of the upright end face is seen, and how the eye lies along the track. */
  readonly faceMm?: number;
  readonly grain?: number;
  /** How much of a step the logistic function takes to go over by a factor of e: 0.47 is the usual blur. */
  readonly blurMm?: number;
  /** Brightness of a column, of the rail's. */
  readonly across?: (column: number) => number;
}

/** Heads and flanges that end in the direction of growing s, blurred, then cut off at white. */
function drawn({
  endsMm,
  light = plain,
  faceMm = 0,
  grain = 0.02,
  blurMm = 0.47,
  across = () => 1,
}: DrawnEnd): RailPart[] {
  const edge = (d: number): number => 1 / (1 + Math.exp(-d / blurMm));
  const random = seededRandom(31);
  const columns = 11;
  return (['head', 'flange'] as const).flatMap((part) =>
    endsMm.map((end, rail) => {
      const face = part === 'head' ? faceMm : 0;
      const data = Float32Array.from({ length: rows * columns }, (_, i) => {
        const s = Math.floor(i / columns) * stepMm;
        const below = part === 'head' ? (light.web ?? light.table) : light.table;
        const foot = part === 'head' ? (faceMm / 5) * overFlangeMm : 0;
        const beyondFace = below + (light.table - below) * edge(s - end - foot);
        const beyond = light.face + (beyondFace - light.face) * edge(s - end - face);
        const own = light.rail * across(i % columns);
        return Math.min(1, beyond + (own - beyond) * edge(end - s) + grain * (random() + random() - 1));
      });
      const all = Array.from({ length: columns }, (_, k) => k);
      return {
        part,
        rail,
        acrossMm: 18 * (rail - 1),
        strip: { rail: (rail - 1) as -1 | 0 | 1, stepMm, rows, columns, acrossStepMm: 0.35, data },
        columnsAt: () => all,
        slopesAt: () => ({ along: faceMm / 5, left: 0 }),
        shiftMmAt: () => 0,
        overFlangeMm,
        faceMmAt: () => face,
        brightestAt: (row: number) => data.subarray(row * columns, (row + 1) * columns),
      };
    }),
  );
}

const found = { at: 50, uMm: 0.2, rails: [50, 50, 50], clearness: 0.8 };
const settled = (end: DrawnEnd) => settleEnd(drawn(end), found, 1, 30);

describe('an end that is settled', () => {
  it.each([47.8, 49.2, 49.9, 50.34, 50.8, 52.3])(
    'is where heads and flanges end, though found elsewhere: %d',
    (end) => {
      const { at, uMm } = settled({ endsMm: [end, end, end] });
      expect(Math.abs(at - end)).toBeLessThan(0.1);
      expect(uMm).toBeLessThan(0.2);
    },
  );

  it.each([0.15, 0.7])('is where it is though the photo is blurred otherwise than usual: %d mm', (blurMm) => {
    for (const end of [49.4, 50, 50.6]) {
      const { at, uMm } = settled({ endsMm: [end, end, end], blurMm });
      expect(Math.abs(at - end)).toBeLessThan(0.15);
      expect(Math.abs(at - end)).toBeLessThan(2 * uMm);
    }
  });

  it('is known no better than it was found where too little of every part is seen', () => {
    const narrow = drawn({ endsMm: [50, 50, 50] }).map((view) => ({ ...view, columnsAt: () => [0] }));
    const { at, uMm } = settleEnd(narrow, found, 1, 30);
    expect(at).toBe(found.at);
    expect(uMm).toBeGreaterThan(0.4);
  });

  it('is the near edge of a dark end face that is seen, not the far one', () => {
    const light = { rail: 0.4, face: 0.05, table: 0.5 };
    expect(Math.abs(settled({ endsMm: [50.3, 50.3, 50.3], light, faceMm: 2.4 }).at - 50.3)).toBeLessThan(0.15);
  });

  it('is the end of the head, though the end of the web is lit below it as bright as the rail', () => {
    const light = { rail: 0.9, face: 0.5, web: 0.85, table: 0.15 };
    for (const end of [48.9, 49.4]) {
      const { at } = settled({ endsMm: [end, end, end], light, faceMm: 1.3 });
      expect(Math.abs(at - end)).toBeLessThan(0.2);
    }
  });

  it('follows an end that is cut a little askew, rail by rail', () => {
    const { at, rails } = settled({ endsMm: [49.9, 50.1, 50.3] });
    expect(Math.abs(at - 50.1)).toBeLessThan(0.1);
    for (const [rail, end] of [49.9, 50.1, 50.3].entries())
      expect(Math.abs((rails[rail] ?? Number.NaN) - end)).toBeLessThan(0.1);
  });

  it('stays with two rails of which the third, rusty there, says otherwise', () => {
    expect(Math.abs(settled({ endsMm: [50.1, 50.1, 49] }).at - 50.1)).toBeLessThan(0.1);
  });

  it('is the less certain the less the rails agree, and the less they differ from the table', () => {
    const sure = settled({ endsMm: [50, 50, 50] }).uMm;
    expect(settled({ endsMm: [50.9, 50, 49.1] }).uMm).toBeGreaterThan(1.5 * sure);
    const light = { rail: 0.23, face: 0.2, table: 0.2 };
    expect(settled({ endsMm: [50, 50, 50], light, grain: 0.1 }).uMm).toBeGreaterThan(2 * sure);
  });

  it('is where it is though the photo cuts off the light of the rails, whose blurred edge then stays white beyond it', () => {
    const shine = (k: number): number => Math.exp(-(((k - 5) / 2.5) ** 2));
    const glaring = drawn({ endsMm: [50.2, 50.2, 50.2], light: { rail: 2.5, face: 0.15, table: 0.15 }, across: shine });
    const unaware = glaring.map((view) => ({ ...view, brightestAt: () => new Float32Array(11) }));
    const known = settleEnd(glaring, found, 1, 30).at - 50.2;
    expect(Math.abs(known)).toBeLessThan(0.12);
    expect(settleEnd(unaware, found, 1, 30).at - 50.2).toBeGreaterThan(known + 0.15);
  });

  it('stays where the flanges end, and was found, though something passes for the end of the heads farther on', () => {
    const [heads, flanges] = [52.3, 50].map((end) => drawn({ endsMm: [end, end, end] }));
    const mixed = [...heads.filter((v) => v.part === 'head'), ...flanges.filter((v) => v.part === 'flange')];
    expect(Math.abs(settleEnd(mixed, found, 1, 30).at - 50)).toBeLessThan(1);
  });

  it('stays where it was found when nothing tells', () => {
    const { at, uMm } = settled({ endsMm: [500, 500, 500] });
    expect(Math.abs(at - found.at)).toBeLessThan(0.15);
    expect(uMm).toBeGreaterThan(0.3);
  });
});

describe('levels of light about an end', () => {
  const places = Array.from({ length: 19 }, (_, i) => i * stepMm - 5);

  it.each([
    { name: 'two', edgesMm: [0], drift: false, timesWhite: 1 },
    { name: 'two, the first with a drift,', edgesMm: [0], drift: true, timesWhite: 1 },
    { name: 'two, the first cut off at half its light,', edgesMm: [0], drift: false, timesWhite: 2 },
    { name: 'four', edgesMm: [0, 1.2, 2.4], drift: false, timesWhite: 1 },
    { name: 'four, the first cut off and hiding the next,', edgesMm: [0, 0.2, 0.4], drift: false, timesWhite: 3 },
  ])(
    '$name leave nothing of themselves unexplained at the true end, and much elsewhere',
    ({ edgesMm, drift, timesWhite }) => {
      const seen = (share: number): number => Math.min(1, timesWhite * share);
      const samples = Float64Array.from(places, (s) => 0.2 + 0.4 * seen(1 / (1 + Math.exp((1.702 * (s - 0.3)) / 0.8))));
      const left = (end: number): number =>
        levelFunctions({ edgesMm, drift, timesWhite }, places, end).reduce(
          (rest, f) => rest - productOf(f, samples) ** 2,
          productOf(samples, samples),
        );
      expect(left(0.3)).toBeLessThan(1e-3);
      expect(left(-1.2)).toBeGreaterThan(10 * left(0.3) + 1e-3);
    },
  );
});
