/**
 * Sums the products of residuals' derivatives into a matrix and a gradient. Residuals that come one after the other mostly
 * depend on the same unknowns: their products are summed apart, in a small block in order, and put in their places when
 * others come.
 */
export class RowProducts {
  private entries = 0;
  private index = new Int32Array(32);
  /** Lower triangle of the products, row by row, and the parts of the gradient. */
  private block = new Float64Array((32 * 33) / 2);
  private parts = new Float64Array(32);
  /** Copied first: what comes may be arrays of several kinds, which the inner loop would pay for. */
  private row = new Float64Array(32);

  /** @param matrix n × n row by row, of which the lower triangle is added to */
  constructor(
    private readonly matrix: Float64Array,
    private readonly gradient: Float64Array,
    private readonly n: number,
  ) {}

  /** @param index unknowns; one may occur more than once */
  add(
    residual: number,
    weight: number,
    index: ArrayLike<number>,
    derivative: ArrayLike<number>,
    entries: number,
  ): void {
    if (!this.isSame(index, entries)) this.start(index, entries);
    const { block, parts, row } = this;
    for (let a = 0; a < entries; a++) row[a] = derivative[a];
    for (let a = 0, at = 0; a < entries; a++) {
      const wd = weight * row[a];
      parts[a] += wd * residual;
      for (let b = 0; b <= a; b++) block[at++] += wd * row[b];
    }
  }

  private isSame(index: ArrayLike<number>, entries: number): boolean {
    if (entries !== this.entries) return false;
    for (let a = 0; a < entries; a++) if (this.index[a] !== index[a]) return false;
    return true;
  }

  private start(index: ArrayLike<number>, entries: number): void {
    this.flush();
    if (entries > this.index.length) {
      this.index = new Int32Array(2 * entries);
      this.block = new Float64Array(entries * (2 * entries + 1));
      this.parts = new Float64Array(2 * entries);
      this.row = new Float64Array(2 * entries);
    }
    this.entries = entries;
    for (let a = 0; a < entries; a++) this.index[a] = index[a];
  }

  /** Puts what was summed in its places; to be called after the last. */
  flush(): void {
    const { matrix, gradient, n, index, block, parts, entries } = this;
    for (let a = 0, at = 0; a < entries; a++) {
      const i = index[a];
      gradient[i] += parts[a];
      for (let b = 0; b <= a; b++) {
        const j = index[b];
        const product = block[at++];
        if (j < i) matrix[i * n + j] += product;
        else if (j > i) matrix[j * n + i] += product;
        else matrix[i * n + i] += a === b ? product : 2 * product;
      }
    }
    parts.fill(0, 0, entries);
    block.fill(0, 0, (entries * (entries + 1)) / 2);
    this.entries = 0;
  }
}
