import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

import {
  findLikenessWhere,
  findRailLikeness,
  type PlanPicture,
  type RailLikeness,
  reachOfWanted,
  wantedSize,
} from '../../../../server/stages/rails/rail-likeness.js';
import { sourceSha256 } from '../../../../server/stages/rails/rail-likeness-kernel.js';
import { shareTurns } from '../../../../server/stages/rails/share-turns.js';
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

/** Memory and five functions that do nothing, but for the one that scores: it traps. */
function failingKernel(): object {
  const bytes = [
    ...[0, 0x61, 0x73, 0x6d, 1, 0, 0, 0],
    // A type of no parameters; two functions of it: one returns 0, one traps.
    ...[1, 8, 2, 0x60, 0, 1, 0x7f, 0x60, 0, 0],
    ...[3, 3, 2, 0, 1],
    ...[5, 3, 1, 0, 40],
    ...exportsOf({ memory: [2, 0], prepare: [0, 0], findSides: [0, 0], scoreDirections: [0, 1] }),
    ...[10, 10, 2, 4, 0, 0x41, 0, 0x0b, 3, 0, 0x00, 0x0b],
  ];
  const { WebAssembly } = globalThis as unknown as { WebAssembly: { Module: new (b: Uint8Array) => object } };
  return new WebAssembly.Module(Uint8Array.from(bytes));
}

function exportsOf(entries: Record<string, readonly [number, number]>): number[] {
  const body = Object.entries(entries).flatMap(([name, kind]) => [name.length, ...Buffer.from(name), ...kind]);
  return [7, body.length + 1, Object.keys(entries).length, ...body];
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
    const fast = findRailLikeness({ grey, widthPx, heightPx }, spacingPx, railCount);
    const plain = plainRailLikeness(grey, widthPx, heightPx, spacingPx, railCount);
    const positive = plain.score.filter((v) => v > 0).length;
    expect(positive).toBeGreaterThan(1500);
    // A score at the edge of what counts as rail may fall to the other side of it; and whether the photo's very rim is
    // seen by rows that run along pixels is a matter of the last digit.
    expect(unlike(plain, fast)).toBeLessThanOrEqual(positive / 100);
  });

  it('is nothing where the photo shows nothing', () => {
    const grey = new Float32Array(smallWidthPx * smallHeightPx).fill(Number.NaN);
    expect(Math.max(...findRailLikeness(small(grey), 14, 3).score)).toBe(0);
  });

  it('is found in a picture smaller than a track', () => {
    const grey = new Float32Array(12).fill(100);
    expect(Array.from(findRailLikeness({ grey, widthPx: 4, heightPx: 3 }, 14, 3).score)).toEqual(new Array(12).fill(0));
  });

  it('stops when it is called off', () => {
    const grey = planPicture(14, 3, 1);
    expect(() => findRailLikeness(small(grey), 14, 3, undefined, AbortSignal.abort())).toThrow(/cancelled/);
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
    const fast = findLikenessWhere(wanted, size, spacingPx, railCount, (to) => to.set(grey));
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
    const whole = findLikenessWhere(all, size, spacingPx, 3, (to) => to.set(grey));
    const part = findLikenessWhere(some, size, spacingPx, 3, (to) => to.set(near));
    const isWanted = (i: number): boolean => wishOf(some, i) !== 0;
    expect(part.found.length).toBeGreaterThan(200);
    expect(unlike(whole, part, isWanted)).toBe(0);
    expect(Array.from(part.found).every(isWanted)).toBe(true);
    expect(part.score.filter((v) => v > 0).length).toBe(part.found.length);
  });
});

describe('turns of a picture that two threads share', () => {
  it('are all done by this thread where the other one cannot work', () => {
    const grey = new Float32Array(500_000);
    const shared = shareTurns({}, [], grey, [0, 0.1, 0.2]);
    const mine = { score: new Float32Array(grey.length), direction: new Uint8Array(grey.length) };
    expect([shared.next(), shared.next(), shared.next(), shared.next()]).toEqual([0, 1, 2, null]);
    expect(shared.mergeInto(mine)).toBe(true);
    expect(shared.missing()).toEqual([]);
    shared.end();
  });

  it('are told when the other one has taken some and fails', async () => {
    const grey = new Float32Array(500_000);
    // A module whose kernel stops at its first turn.
    const failing = failingKernel();
    let shared = shareTurns(failing, [], grey, [0, 0.1, 0.2]);
    // On a busy computer a thread needs a while to start; until it has taken a turn there is nothing to see.
    for (const ms of [300, 1000, 4000, 10_000]) {
      await new Promise((resolve) => setTimeout(resolve, ms));
      if (shared.next() === 1) break;
      shared.end();
      shared = shareTurns(failing, [], grey, [0, 0.1, 0.2]);
    }
    const mine = { score: new Float32Array(grey.length), direction: new Uint8Array(grey.length) };
    expect(shared.next()).toBe(2);
    expect(shared.mergeInto(mine)).toBe(false);
    expect(shared.missing()).toEqual([0]);
    shared.end();
  });
});

describe('the compiled inner loop', () => {
  it('stems from its source as it is: node server/kernels/build.mjs compiles it again', () => {
    const source = readFileSync(
      fileURLToPath(new URL('../../../../server/kernels/rail-likeness.ts', import.meta.url)),
      'utf8',
    );
    expect(createHash('sha256').update(source.replaceAll('\r\n', '\n')).digest('hex')).toBe(sourceSha256);
  });
});
