export interface PlanSize {
  readonly widthPx: number;
  readonly heightPx: number;
}

/**
 * Plan pixels are kept in squares, of which only those have room that hold something: rails take up little of a plan, and
 * memory that nobody has used before costs more than what is done with it. Pixel (x, y) lies in the tile
 * ((x + 1) >> 5, (y + 1) >> 5), so that pixels (2·i − 1, 2·j − 1) … (2·i, 2·j) are always in one tile.
 */
const tileBits = 5;
const tilePx = 1 << tileBits;
export const tilePixels = tilePx * tilePx;

/** Places of two pixels square. */
const placesAcross = tilePx / 2;
const tilePlaces = placesAcross * placesAcross;

/** Tiles that a plan has, across and down. */
function tileShape({ widthPx, heightPx }: PlanSize): [number, number] {
  return [(widthPx >> tileBits) + 1, (heightPx >> tileBits) + 1];
}

export function tileCountOf(size: PlanSize): number {
  const [across, down] = tileShape(size);
  return across * down;
}

/** Where rails are to be looked for, and which way: for pixel (2·i, 2·j), and those before it, a bit for each direction. */
export class WantedPlaces {
  /** Number of each tile, 1…; 0 where nothing is wanted. Row by row. */
  readonly table: Int32Array;
  readonly #across: number;
  #bits = new Int32Array(0);
  #count = 0;

  constructor(readonly size: PlanSize) {
    const [across, down] = tileShape(size);
    this.#across = across;
    this.table = new Int32Array(across * down);
  }

  get tileCount(): number {
    return this.#count;
  }

  /** Directions of each place, tile by tile. */
  get bits(): Int32Array {
    return this.#bits.subarray(0, this.#count * tilePlaces);
  }

  /** Whether there is a pixel (2·i, 2·j) or one before it. */
  has(i: number, j: number): boolean {
    return i >= 0 && j >= 0 && 2 * i <= this.size.widthPx && 2 * j <= this.size.heightPx;
  }

  add(i: number, j: number, directions: number): void {
    const tile = (j >> (tileBits - 1)) * this.#across + (i >> (tileBits - 1));
    if (this.table[tile] === 0) this.table[tile] = this.#newTile();
    this.#bits[(this.table[tile] - 1) * tilePlaces + placeInTile(i, j)] |= directions;
  }

  at(i: number, j: number): number {
    const tile = this.table[(j >> (tileBits - 1)) * this.#across + (i >> (tileBits - 1))];
    return tile === 0 ? 0 : this.#bits[(tile - 1) * tilePlaces + placeInTile(i, j)];
  }

  /** Calls `visit` for each place where anything is wanted. */
  forEach(visit: (i: number, j: number) => void): void {
    this.table.forEach((tile, t) => {
      if (tile === 0) return;
      const left = (t % this.#across) * placesAcross;
      const top = Math.floor(t / this.#across) * placesAcross;
      for (let k = 0; k < tilePlaces; k++)
        if (this.#bits[(tile - 1) * tilePlaces + k] !== 0)
          visit(left + (k % placesAcross), top + Math.floor(k / placesAcross));
    });
  }

  #newTile(): number {
    this.#count++;
    if (this.#count * tilePlaces > this.#bits.length) {
      const more = new Int32Array(Math.max(16, 2 * this.#count) * tilePlaces);
      more.set(this.#bits);
      this.#bits = more;
    }
    return this.#count;
  }
}

function placeInTile(i: number, j: number): number {
  return (j % placesAcross) * placesAcross + (i % placesAcross);
}

/** The lowest bits of a score are taken by its direction: so many less it, so that of equal scores the first counts. */
const directionMask = 31;

/** How rail-like each plan pixel is, and which way the rails run there. */
export class RailLikeness {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Scores of all pixels of all tiles; zero where no three (or two) parallel rails are centred. */
  readonly scores: Float32Array;
  readonly #codes: Uint32Array;
  readonly #across: number;

  /**
   * @param table number of each tile, 1…; 0 where nothing was looked for
   * @param codes for each pixel of each tile the score's bits, single precision, with the direction in the lowest ones
   * @param directionCount direction = index · π / directionCount, from +column towards −row
   */
  constructor(
    { widthPx, heightPx }: PlanSize,
    readonly table: Int32Array,
    codes: Uint32Array,
    readonly directionCount: number,
  ) {
    this.widthPx = widthPx;
    this.heightPx = heightPx;
    this.#across = tileShape({ widthPx, heightPx })[0];
    this.#codes = codes;
    this.scores = new Float32Array(codes.buffer, codes.byteOffset, codes.length);
  }

  /** Zero where no three (or two) parallel rails are centred, and where nothing was looked for. */
  scoreAt(x: number, y: number): number {
    const at = this.#placeOf(x, y);
    return at < 0 ? 0 : this.scores[at];
  }

  /** Index of the direction of the best score, where there is one. */
  directionAt(x: number, y: number): number {
    const at = this.#placeOf(x, y);
    return at < 0 ? 0 : directionMask - (this.#codes[at] & directionMask);
  }

  /** The pixels y · width + x with a score above `level`, zero or more. */
  pixelsAbove(level: number): Int32Array {
    const { table, scores, widthPx } = this;
    let count = 0;
    for (let k = 0; k < scores.length; k++) if (scores[k] > level) count++;
    const pixels = new Int32Array(count);
    let to = 0;
    table.forEach((tile, t) => {
      if (tile === 0) return;
      const left = (t % this.#across) * tilePx - 1;
      const top = Math.floor(t / this.#across) * tilePx - 1;
      const first = (tile - 1) * tilePixels;
      for (let k = 0; k < tilePixels; k++)
        if (scores[first + k] > level) pixels[to++] = (top + (k >> tileBits)) * widthPx + left + (k & (tilePx - 1));
    });
    return pixels;
  }

  /** −1 where nothing was looked for. */
  #placeOf(x: number, y: number): number {
    const tile = this.table[((y + 1) >> tileBits) * this.#across + ((x + 1) >> tileBits)];
    if (tile === 0) return -1;
    return (tile - 1) * tilePixels + (((y + 1) & (tilePx - 1)) << tileBits) + ((x + 1) & (tilePx - 1));
  }
}
