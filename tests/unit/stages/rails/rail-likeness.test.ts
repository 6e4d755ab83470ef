import { describe, expect, it } from 'vitest';
import type { DoParts } from '../../../../server/base/parts.js';
import { type PlanSize, type RailLikeness, WantedPlaces } from '../../../../server/stages/rails/likeness-tiles.js';
import {
  findLikenessWhere,
  findRailLikeness,
  LikenessFinder,
  reachOfWanted,
  scoreTurns,
  type TurnsAsked,
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

const small = { widthPx: smallWidthPx, heightPx: smallHeightPx };

/** Places where two likenesses differ by more than single precision makes them. */
function unlike(a: RailLikeness, b: RailLikeness, where: (x: number, y: number) => boolean = () => true): number {
  let count = 0;
  for (let y = 0; y < a.heightPx; y++)
    for (let x = 0; x < a.widthPx; x++) {
      if (!where(x, y)) continue;
      const score = a.scoreAt(x, y);
      const isOff = Math.abs(score - b.scoreAt(x, y)) > 1e-4 * score + 1e-6;
      if (isOff || (score > 0 && a.directionAt(x, y) !== b.directionAt(x, y))) count++;
    }
  return count;
}

/** Everything, in all directions. */
function allOf(size: PlanSize): WantedPlaces {
  const all = new WantedPlaces(size);
  for (let j = 0; all.has(0, j); j++) for (let i = 0; all.has(i, j); i++) all.add(i, j, 0xffffff);
  return all;
}

function foundCount(likeness: RailLikeness): number {
  return likeness.pixelsAbove(0).length;
}

/** With a kernel of its own. */
function withFinder<T>(work: (finder: LikenessFinder) => T, doTurns?: DoParts<TurnsAsked>): T {
  const finder = new LikenessFinder(doTurns);
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
    { name: 'a large picture', spacingPx: 13.98, railCount: 3 as const, size: [690, 600] },
  ])('is that of the plain twin: $name', ({ spacingPx, railCount, size }) => {
    const [widthPx, heightPx] = size;
    const grey = planPicture(spacingPx, railCount, 7, [widthPx, heightPx]);
    const fast = withFinder((f) =>
      findRailLikeness(f, { widthPx, heightPx }, spacingPx, railCount, (to) => to.set(grey)),
    );
    const plain = plainRailLikeness(grey, widthPx, heightPx, spacingPx, railCount);
    const positive = foundCount(plain);
    expect(positive).toBeGreaterThan(1500);
    // A score at the edge of what counts as rail may fall to the other side of it; and whether the photo's very rim is
    // seen by rows that run along pixels is a matter of the last digit.
    expect(unlike(plain, fast)).toBeLessThanOrEqual(positive / 100);
  });

  it('is nothing where the photo shows nothing', () => {
    const grey = new Float32Array(smallWidthPx * smallHeightPx).fill(Number.NaN);
    expect(foundCount(withFinder((f) => findRailLikeness(f, small, 14, 3, (to) => to.set(grey))))).toBe(0);
  });

  it('is found in a picture smaller than a track', () => {
    const grey = new Float32Array(12).fill(100);
    const size = { widthPx: 4, heightPx: 3 };
    expect(foundCount(withFinder((f) => findRailLikeness(f, size, 14, 3, (to) => to.set(grey))))).toBe(0);
  });

  it('stops when it is called off', () => {
    const called = AbortSignal.abort();
    const fill = (): void => {};
    expect(() => withFinder((f) => findRailLikeness(f, small, 14, 3, fill, undefined, called))).toThrow(/cancelled/);
  });
});

describe('the likeness to rails where it is wanted', () => {
  const [widthPx, heightPx] = [230, 181];
  it.each([
    { name: 'three rails', spacingPx: 13.98, railCount: 3 as const },
    { name: 'two rails', spacingPx: 17.4, railCount: 2 as const },
  ])('is that of the plain twin where all is wanted: $name', ({ spacingPx, railCount }) => {
    const grey = planPicture(spacingPx, railCount, 11);
    const wanted = allOf({ widthPx, heightPx });
    const fast = withFinder((f) => findLikenessWhere(f, wanted, spacingPx, railCount, (to) => to.set(grey)));
    const plain = plainRailLikeness(grey, widthPx, heightPx, spacingPx, railCount);
    expect(foundCount(fast)).toBeGreaterThan(1500);
    expect(unlike(plain, fast)).toBeLessThanOrEqual(foundCount(fast) / 100);
  });

  it('does not depend on what lies farther off, and is nothing elsewhere', () => {
    const spacingPx = 13.98;
    const grey = planPicture(spacingPx, 3, 12);
    const all = allOf({ widthPx, heightPx });
    const some = new WantedPlaces({ widthPx, heightPx });
    for (let j = 30; j < 45; j++) for (let i = 40; i < 70; i++) some.add(i, j, 0xffffff);
    const reach = reachOfWanted(spacingPx);
    const near = grey.map((v, i) => {
      const [x, y] = [i % widthPx, Math.floor(i / widthPx)];
      return x > 79 - reach && x < 139 + reach && y > 59 - reach && y < 89 + reach ? v : 0;
    });
    const isWanted = (x: number, y: number): boolean => some.at((x + 1) >> 1, (y + 1) >> 1) !== 0;
    // What was looked for before lies in the memory still.
    withFinder((f) => {
      const whole = findLikenessWhere(f, all, spacingPx, 3, (to) => to.set(grey));
      const apart = withFinder((g) => findLikenessWhere(g, some, spacingPx, 3, (to) => to.set(near)));
      expect(foundCount(apart)).toBeGreaterThan(200);
      expect(unlike(whole, apart, isWanted)).toBe(0);
      const part = findLikenessWhere(f, some, spacingPx, 3, (to) => to.set(near));
      expect(unlike(apart, part)).toBe(0);
      const found = Array.from(part.pixelsAbove(0));
      expect(found.every((at) => isWanted(at % widthPx, Math.floor(at / widthPx)))).toBe(true);
    });
  });
});

describe('several pictures looked at one after the other', () => {
  /** As if two threads took one turn after the other: what the second is sent is a copy. */
  const inTwo: DoParts<TurnsAsked> = (asked, count) => {
    const sent = structuredClone(asked);
    for (let turn = count - 1; turn >= 0; turn--) scoreTurns(turn % 2 === 0 ? asked : sent, turn, turn + 1);
  };

  it('do not depend on each other, nor on which thread looks', () => {
    const spacingPx = 13.98;
    const [widthPx, heightPx] = [690, 600];
    const size = { widthPx, heightPx };
    const find = (f: LikenessFinder, grey: Float32Array): Buffer => {
      const likeness = findRailLikeness(f, size, spacingPx, 3, (to) => to.set(grey));
      expect(foundCount(likeness)).toBeGreaterThan(10_000);
      return Buffer.from(likeness.scores.slice().buffer);
    };
    const plans = [21, 22, 23].map((seed) => planPicture(spacingPx, 3, seed, [widthPx, heightPx]));
    const alone = plans.map((plan) => withFinder((f) => find(f, plan)));
    const together = withFinder((f) => plans.map((plan) => find(f, plan)), inTwo);
    plans.forEach((_, i) => {
      expect(together[i].equals(alone[i])).toBe(true);
    });
    const wanted = new WantedPlaces(size);
    for (let j = 30; j < 245; j++) for (let i = 40; i < 270; i++) wanted.add(i, j, 0xffffff);
    const where = (doTurns?: DoParts<TurnsAsked>): Buffer =>
      withFinder((f) => {
        const { scores } = findLikenessWhere(f, wanted, spacingPx, 3, (to) => to.set(plans[0]));
        return Buffer.from(scores.slice().buffer);
      }, doTurns);
    expect(where(inTwo).equals(where())).toBe(true);
  });
});

describe('the compiled inner loop', () => {
  it('stems from its source as it is: node server/kernels/build.mjs compiles it again', () => {
    expect(sha256Of('rail-likeness')).toBe(sourceSha256);
  });
});
