/** Largest slope of a row of shifts, search steps from one sample to the next. */
const steepest = 6;

/** Most that the slope changes from one sample to the next. */
const sharpest = 2;

/**
 * What a change of slope costs, in units of merit, by its size in search steps. Track goes on straight or turns evenly; at
 * a joint it may have a kink of half a degree, which is less than one step.
 */
const bendCost = [0, 0.06, 0.3];

/**
 * The row of shifts with the greatest merit that bends little (dynamic programming over samples, Viterbi 1967; the
 * state is shift and slope). Where rails are covered, or something else beside them looks like rails, the row goes on
 * as the track before and after it runs.
 * @param merits for each sample the merit of each shift, all of one length
 * @returns for each sample the index of its shift
 */
export function smoothestShifts(merits: readonly Float64Array[], closed: boolean): number[] {
  const n = merits.length;
  const m = merits[0].length;
  const slopes = 2 * steepest + 1;
  // Closed lines are gone round once and a bit, so that the seam has neighbours too.
  const lap = closed ? Math.min(n, 25) : 0;
  const total = n + 2 * lap;
  const meritAt = (i: number): Float64Array => merits[(((i - lap) % n) + n) % n];
  // value[q · row + sharpest + d]: best sum of a row that ends at shift q, reached with slope d; nothing beyond the slopes.
  const row = slopes + 2 * sharpest;
  let value = new Float64Array(m * row).fill(Number.NEGATIVE_INFINITY);
  let next = value.slice();
  for (let q = 0; q < m; q++) value.fill(meritAt(0)[q], q * row + sharpest, q * row + sharpest + slopes);
  const from: Int8Array[] = [];
  for (let i = 1; i < total; i++) {
    const back = new Int8Array(m * slopes);
    oneStep(value, next, meritAt(i), back, m);
    from.push(back);
    [value, next] = [next, value];
  }
  let at = 0;
  const valueAt = (k: number): number => value[Math.floor(k / slopes) * row + sharpest + (k % slopes)];
  for (let k = 1; k < m * slopes; k++) if (valueAt(k) > valueAt(at)) at = k;
  const path = new Array<number>(total);
  path[total - 1] = Math.floor(at / slopes);
  for (let i = total - 1; i > 0; i--) {
    const d = at % slopes;
    const q = Math.floor(at / slopes);
    at = (q - (d - steepest)) * slopes + from[i - 1][at];
    path[i - 1] = Math.floor(at / slopes);
  }
  return path.slice(lap, lap + n);
}

/** From the best sums at one sample to those at the next; `back` takes the slope that each was reached from. */
function oneStep(value: Float64Array, next: Float64Array, own: Float64Array, back: Int8Array, m: number): void {
  const slopes = 2 * steepest + 1;
  const row = slopes + 2 * sharpest;
  const [, little, much] = bendCost;
  for (let q = 0; q < m; q++)
    for (let d = 0; d < slopes; d++) {
      const p = q - (d - steepest);
      const to = q * row + sharpest + d;
      if (p < 0 || p >= m) {
        next[to] = Number.NEGATIVE_INFINITY;
        continue;
      }
      const at = p * row + d;
      let best = value[at] - much;
      let slope = d - 2;
      const b = value[at + 1] - little;
      if (b > best) {
        best = b;
        slope = d - 1;
      }
      const c = value[at + 2];
      if (c > best) {
        best = c;
        slope = d;
      }
      const e = value[at + 3] - little;
      if (e > best) {
        best = e;
        slope = d + 1;
      }
      const f = value[at + 4] - much;
      if (f > best) {
        best = f;
        slope = d + 2;
      }
      next[to] = best + own[q];
      back[q * slopes + d] = slope;
    }
}
