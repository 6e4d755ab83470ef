import { type LookFromAbove, squareMm } from './look-from-above.js';

/** Squares that are left out on each side of a line, as a lens not yet known bends edges, and squares that are averaged. */
const gapSquares = 1;
const bandSquares = 3;

/** Least step of log tone, red–green and blue–green that counts (common practice, no source). */
export const leastStep = [0.02, 0.006, 0.006];

/** What changes across a line, on average over a stretch of it. */
export interface MeanStep {
  /** Mean look just inside, and how much that differs from just outside: three numbers each, as in tone-look.ts. */
  readonly inside: readonly number[];
  readonly step: readonly number[];
  /** Squares that were seen on the side of which fewer were. */
  readonly seen: number;
}

/**
 * Mean looks along the lines of two directions square to each other, by sums over boxes (Crow 1984, summed-area tables).
 * Side k of a box has its outward normal at thetaRad + k quarter turns, a distance from the origin.
 */
export class MeanSteps {
  /** First and last square from the origin, outwards of side 0 (rows) and of side 1 (columns). */
  private readonly first: readonly [number, number];
  private readonly last: readonly [number, number];
  /** Numbers to a row: one more than there are columns. */
  private readonly wide: number;
  /** Sums of the look and, fourth, of the squares seen; one longer than the squares each way, interleaved. */
  private readonly sums: Float64Array;

  constructor(above: LookFromAbove, thetaRad: number) {
    const [c, s] = [Math.cos(thetaRad), Math.sin(thetaRad)];
    const { leftMm, lowMm } = above;
    const rightMm = leftMm + above.columns * squareMm;
    const highMm = lowMm + above.rows * squareMm;
    const ends = [leftMm, rightMm].flatMap((x) =>
      [lowMm, highMm].map((y) => [(x * c + y * s) / squareMm, (y * c - x * s) / squareMm]),
    );
    const [out, along] = [0, 1].map((k) => ends.map((e) => e[k]));
    this.first = [Math.floor(Math.min(...out)), Math.floor(Math.min(...along))];
    this.last = [Math.ceil(Math.max(...out)), Math.ceil(Math.max(...along))];
    this.wide = this.last[1] - this.first[1] + 2;
    this.sums = this.turned(above, c, s);
  }

  private turned({ columns, rows, leftMm, lowMm, look }: LookFromAbove, c: number, s: number): Float64Array {
    const [firstRow, firstColumn] = this.first;
    const [lastRow, lastColumn] = this.last;
    const above = 4 * this.wide;
    const sums = new Float64Array((lastRow - firstRow + 2) * above);
    let to = above + 4;
    for (let r = firstRow; r <= lastRow; r++, to += 4) {
      let [l, a, b, n] = [0, 0, 0, 0];
      const x0 = r * c - leftMm / squareMm + 0.5;
      const y0 = r * s - lowMm / squareMm + 0.5;
      for (let q = firstColumn; q <= lastColumn; q++, to += 4) {
        const i = Math.floor(x0 - q * s);
        const j = Math.floor(y0 + q * c);
        if (i >= 0 && j >= 0 && i < columns && j < rows) {
          const at = 3 * (j * columns + i);
          const light = look[at];
          if (!Number.isNaN(light)) {
            l += light;
            a += look[at + 1];
            b += look[at + 2];
            n++;
          }
        }
        sums[to] = sums[to - above] + l;
        sums[to + 1] = sums[to + 1 - above] + a;
        sums[to + 2] = sums[to + 2 - above] + b;
        sums[to + 3] = sums[to + 3 - above] + n;
      }
    }
    return sums;
  }

  /** Largest distance of a line from the origin along the normal of a side, mm. */
  farthestMm(side: number): number {
    const end = side < 2 ? this.last[side] : -this.first[side - 2];
    return (end - gapSquares - bandSquares) * squareMm;
  }

  /**
   * The mean step across a line.
   * @param side 0…3
   * @param outMm distance of the line along the side's outward normal; negative beyond the origin
   * @param fromMm, toMm stretch along the side, counter-clockwise
   * @returns null where one of its sides is not seen at all
   */
  across(side: number, outMm: number, fromMm: number, toMm: number): MeanStep | null {
    const at = Math.round(outMm / squareMm);
    const [from, to] = [Math.round(fromMm / squareMm), Math.round(toMm / squareMm)];
    const inner = this.band(side, at - gapSquares - bandSquares + 1, at - gapSquares, from, to);
    const outer = this.band(side, at + gapSquares, at + gapSquares + bandSquares - 1, from, to);
    if (!inner || !outer) return null;
    const inside = [0, 1, 2].map((k) => inner[k] / inner[3]);
    return {
      inside,
      step: inside.map((v, k) => v - outer[k] / outer[3]),
      seen: Math.min(inner[3], outer[3]),
    };
  }

  /** Sums over a band, both ends of both ranges included, squares from the origin; null where nothing is seen. */
  private band(side: number, near: number, far: number, from: number, to: number): number[] | null {
    // Out and along of the side as rows and columns of the sums, a quarter turn for each side.
    const turned = [
      [near, far, from, to],
      [-to, -from, near, far],
      [-far, -near, -to, -from],
      [from, to, -far, -near],
    ][side];
    const top = Math.max(turned[0], this.first[0]) - this.first[0];
    const bottom = Math.min(turned[1], this.last[0]) - this.first[0] + 1;
    const left = Math.max(turned[2], this.first[1]) - this.first[1];
    const right = Math.min(turned[3], this.last[1]) - this.first[1] + 1;
    if (bottom <= top || right <= left) return null;
    const { sums, wide } = this;
    const [a, b] = [4 * (bottom * wide + right), 4 * (top * wide + right)];
    const [c, d] = [4 * (bottom * wide + left), 4 * (top * wide + left)];
    const sum = [0, 1, 2, 3].map((k) => sums[a + k] - sums[b + k] - sums[c + k] + sums[d + k]);
    return sum[3] > 0 ? sum : null;
  }
}
