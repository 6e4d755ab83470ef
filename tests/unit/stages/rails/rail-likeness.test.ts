import { describe, expect, it } from 'vitest';

import {
  findLikenessWhere,
  findRailLikeness,
  LikenessFinder,
  type PlanPicture,
  type RailLikeness,
  reachOfWanted,
  wantedSize,
} from '../../../../server/stages/rails/rail-likeness.js';
import { sourceSha256 } from '../../../../server/stages/rails/rail-likeness-kernel.js';
import { sha256Of } from '../../../support/kernel-source.js';
import { plainRailLikeness } from '../../../support/rails/plain-rail-likeness.js';
import { seededRandom } from '../../../support/seeded-random.js';

const smallWidthPx = 230;
const smallHeightPx = 181;

/** Three (or two) bright lines on grain, straight and bent, in a picture whose corners the photo does not reach. */
function planPicture(
  spacingPx: number,
  railCount: 2 | 3,
  seed: number,
  [widthPx, heightPx] = [smallWidthPx, smallHeightPx],
): Float32Array {
  const random = seededRandom(seed);
  const grey = new Float32Array(widthPx * heightPx);
  const rails = railCount === 3 ? [-1, 0, 1] : [-0.5, 0.5];
  const line = (off: number): number => {
    let sum = 0;
    for (const r of rails) {
      const d = off - r * spacingPx;
      sum += 70 * Math.exp(-d * d) - 25 * Math.exp(-((Math.abs(d) - 2.5) ** 2));
    }
    return sum;
  };
  const [c, s] = [Math.cos(0.37), Math.sin(0.37)];
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      const straight = (x - 150) * c + (y - 40) * s;
      const bent = Math.hypot(x - 40, y - 150) - 70;
      const inPhoto = x + 0.6 * y > 25 && x - 0.4 * y < 200;
      const value = 110 + 10 * (random() - 0.5) + line(straight) + line(bent);
      grey[y * widthPx + x] = inPhoto ? value : Number.NaN;
    }
  return grey;
}

function small(grey: Float32Array): PlanPicture {
  return { grey, widthPx: smallWidthPx, heightPx: smallHeightPx };
}

type Scored = Pick<RailLikeness, 'score' | 'direction'>;

/** Places where two likenesses differ by more than single precision makes them. */
function unlike(a: Scored, b: Scored, where: (pixel: number) => boolean = () => true): number {
  let count = 0;
  for (let i = 0; i < a.score.length; i++) {
    if (!where(i)) continue;
    if (Math.abs(a.score[i] - b.score[i]) > 1e-4 * a.score[i] + 1e-6 || a.direction[i] !== b.direction[i]) count++;
  }
  return count;
}

/** With a kernel and a second thread of its own. */
function withFinder<T>(work: (finder: LikenessFinder) => T): T {
  const finder = new LikenessFinder();
  try {
    return work(finder);
  } finally {
    finder.end();
  }
}

describe('the likeness to rails of a plan picture', () => {
  it.each([
    { name: 'three rails', spacingPx: 13.98, railCount: 3 as const, size: [230, 181] },
    { name: 'three rails of a narrow track', spacingPx: 9.3, railCount: 3 as const, size: [230, 181] },
    { name: 'two rails', spacingPx: 17.4, railCount: 2 as const, size: [230, 181] },
    // Large enough to be shared by two threads.
    { name: 'a large picture', spacingPx: 13.98, railCount: 3 as const, size: [690, 600] },
  ])('is that of the plain twin: $name', ({ spacingPx, railCount, size }) => {
    const [widthPx, heightPx] = size;
    const grey = planPicture(spacingPx, railCount, 7, [widthPx, heightPx]);
    const fast = withFinder((f) => findRailLikeness(f, { grey, widthPx, heightPx }, spacingPx, railCount));
    const plain = plainRailLikeness(grey, widthPx, heightPx, spacingPx, railCount);
    const positive = plain.score.filter((v) => v > 0).length;
    expect(positive).toBeGreaterThan(1500);
    // A score at the edge of what counts as rail may fall to the other side of it; and whether the photo's very rim is
    // seen by rows that run along pixels is a matter of the last digit.
    expect(unlike(plain, fast)).toBeLessThanOrEqual(positive / 100);
  });

  it('is nothing where the photo shows nothing', () => {
    const grey = new Float32Array(smallWidthPx * smallHeightPx).fill(Number.NaN);
    expect(Math.max(...withFinder((f) => findRailLikeness(f, small(grey), 14, 3)).score)).toBe(0);
  });

  it('is found in a picture smaller than a track', () => {
    const grey = new Float32Array(12).fill(100);
    expect(Array.from(withFinder((f) => findRailLikeness(f, { grey, widthPx: 4, heightPx: 3 }, 14, 3)).score)).toEqual(
      new Array(12).fill(0),
    );
  });

  it('stops when it is called off', () => {
    const grey = planPicture(14, 3, 1);
    const called = AbortSignal.abort();
    expect(() => withFinder((f) => findRailLikeness(f, small(grey), 14, 3, undefined, called))).toThrow(/cancelled/);
  });
});

describe('the likeness to rails where it is wanted', () => {
  const [widthPx, heightPx] = [230, 181];
  const [columns] = wantedSize({ widthPx, heightPx });

  /** What is wanted of a pixel: a bit for each direction. */
  function wishOf(wanted: Int32Array, pixel: number): number {
    return wanted[((Math.floor(pixel / widthPx) + 1) >> 1) * columns + (((pixel % widthPx) + 1) >> 1)];
  }

  it.each([
    { name: 'three rails', spacingPx: 13.98, railCount: 3 as const },
    { name: 'two rails', spacingPx: 17.4, railCount: 2 as const },
  ])('is that of the plain twin where all is wanted: $name', ({ spacingPx, railCount }) => {
    const grey = planPicture(spacingPx, railCount, 11);
    const wanted = new Int32Array(columns * wantedSize({ widthPx, heightPx })[1]).fill(0xffffff);
    const size = { widthPx, heightPx };
    const fast = withFinder((f) => findLikenessWhere(f, wanted, size, spacingPx, railCount, (to) => to.set(grey)));
    const plain = plainRailLikeness(grey, widthPx, heightPx, spacingPx, railCount);
    expect(fast.found.length).toBeGreaterThan(1500);
    expect(unlike(plain, fast)).toBeLessThanOrEqual(fast.found.length / 100);
  });

  it('does not depend on what lies farther off, and is nothing elsewhere', () => {
    const spacingPx = 13.98;
    const grey = planPicture(spacingPx, 3, 12);
    const [, rows] = wantedSize({ widthPx, heightPx });
    const all = new Int32Array(columns * rows).fill(0xffffff);
    const some = new Int32Array(columns * rows);
    for (let y = 30; y < 45; y++) for (let x = 40; x < 70; x++) some[y * columns + x] = 0xffffff;
    const reach = reachOfWanted(spacingPx);
    const near = grey.map((v, i) => {
      const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
      return x > 79 - reach && x < 139 + reach && y > 59 - reach && y < 89 + reach ? v : 0;
    });
    const size = { widthPx, heightPx };
    const whole = withFinder((f) => findLikenessWhere(f, all, size, spacingPx, 3, (to) => to.set(grey)));
    const part = withFinder((f) => findLikenessWhere(f, some, size, spacingPx, 3, (to) => to.set(near)));
    const isWanted = (i: number): boolean => wishOf(some, i) !== 0;
    expect(part.found.length).toBeGreaterThan(200);
    expect(unlike(whole, part, isWanted)).toBe(0);
    expect(Array.from(part.found).every(isWanted)).toBe(true);
    expect(part.score.filter((v) => v > 0).length).toBe(part.found.length);
  });
});

describe('several pictures looked at one after the other', () => {
  it('do not depend on each other, nor on which thread looks', () => {
    const spacingPx = 13.98;
    const [widthPx, heightPx] = [690, 600];
    const plans = [21, 22, 23].map((seed) => ({
      grey: planPicture(spacingPx, 3, seed, [widthPx, heightPx]),
      widthPx,
      heightPx,
    }));
    const alone = plans.map((plan) => withFinder((f) => findRailLikeness(f, plan, spacingPx, 3)));
    const together = withFinder((f) => plans.map((plan) => findRailLikeness(f, plan, spacingPx, 3)));
    plans.forEach((_, i) => {
      expect(alone[i].found.length).toBeGreaterThan(10_000);
      expect(unlike(alone[i], together[i])).toBe(0);
    });
  });
});

describe('the compiled inner loop', () => {
  it('stems from its source as it is: node server/kernels/build.mjs compiles it again', () => {
    expect(sha256Of('rail-likeness')).toBe(sourceSha256);
  });
});
