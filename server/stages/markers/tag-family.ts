import { createRequire } from 'node:module';
import { AprilTagFamily } from 'apriltag';

/** Modules along one side of the code, without border. */
export const CODE_SIDE = 6;
const BITS = CODE_SIDE * CODE_SIDE;
const HALF_BITS = BITS / 2;
/** A code found in the family. */
export interface CodeMatch {
  readonly id: number;
  /** Quarter turns clockwise, seen in the grid that was asked for, from the tag as printed. */
  readonly quarterTurns: 0 | 1 | 2 | 3;
  readonly wrongBits: number;
}

/**
 * White modules of each tag as printed, row by row from the top left, 1 white and 0 black, 36 a tag. The turn is that of
 * the npm package `apriltag`, the table that the printed sheets use too.
 */
export function familyGrids(): readonly Uint8Array[] {
  return table().grids;
}

/** The nearest code of the family 36h11 in any turn (2348 comparisons, a few microseconds). */
export function nearestCode(grid: ArrayLike<number>): CodeMatch {
  const { low, high, popcount } = table();
  const askedLow = pack(grid, 0);
  const askedHigh = pack(grid, HALF_BITS);
  let best = 0;
  let fewest = BITS + 1;
  for (let i = 0; i < low.length; i++) {
    const wrong = popcount[low[i] ^ askedLow] + popcount[high[i] ^ askedHigh];
    if (wrong < fewest) {
      fewest = wrong;
      best = i;
    }
  }
  return { id: best >> 2, quarterTurns: (best & 3) as 0 | 1 | 2 | 3, wrongBits: fewest };
}

/** The grid turned clockwise by a quarter. */
export function turnedClockwise(grid: ArrayLike<number>): Uint8Array {
  const turned = new Uint8Array(BITS);
  for (let row = 0; row < CODE_SIDE; row++)
    for (let column = 0; column < CODE_SIDE; column++)
      turned[row * CODE_SIDE + column] = grid[(CODE_SIDE - 1 - column) * CODE_SIDE + row];
  return turned;
}

interface FamilyTable {
  readonly grids: readonly Uint8Array[];
  /** First and second half of the bits of id·4 + quarter turns. */
  readonly low: Int32Array;
  readonly high: Int32Array;
  /** Number of ones of every 18-bit number. */
  readonly popcount: Uint8Array;
}

let cached: FamilyTable | undefined;

function table(): FamilyTable {
  cached ??= buildTable();
  return cached;
}

function buildTable(): FamilyTable {
  const config = createRequire(import.meta.url)('apriltag/families/36h11.json');
  const family = new AprilTagFamily(config);
  const count = family.codes.length;
  const grids: Uint8Array[] = [];
  const low = new Int32Array(count * 4);
  const high = new Int32Array(count * 4);
  for (let id = 0; id < count; id++) {
    const modules = family.render(id);
    let grid: Uint8Array = Uint8Array.from({ length: BITS }, (_, i) => {
      const [row, column] = [Math.floor(i / CODE_SIDE), i % CODE_SIDE];
      return modules[row + 2][column + 2] === 'w' ? 1 : 0;
    });
    grids.push(grid);
    for (let turns = 0; turns < 4; turns++) {
      low[id * 4 + turns] = pack(grid, 0);
      high[id * 4 + turns] = pack(grid, HALF_BITS);
      grid = turnedClockwise(grid);
    }
  }
  const popcount = new Uint8Array(1 << HALF_BITS);
  for (let i = 1; i < popcount.length; i++) popcount[i] = popcount[i >> 1] + (i & 1);
  return { grids, low, high, popcount };
}

function pack(grid: ArrayLike<number>, from: number): number {
  let bits = 0;
  for (let i = 0; i < HALF_BITS; i++) bits = (bits << 1) | (grid[from + i] ? 1 : 0);
  return bits;
}
