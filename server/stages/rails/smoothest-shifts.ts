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
  // value[q · slopes + d]: best sum of a row that ends at shift q, reached with slope d.
  let value = new Float64Array(m * slopes);
  for (let q = 0; q < m; q++) value.fill(meritAt(0)[q], q * slopes, (q + 1) * slopes);
  const from: Int8Array[] = [];
  for (let i = 1; i < total; i++) {
    const own = meritAt(i);
    const next = new Float64Array(m * slopes).fill(Number.NEGATIVE_INFINITY);
    const back = new Int8Array(m * slopes);
    for (let q = 0; q < m; q++)
      for (let d = 0; d < slopes; d++) {
        const p = q - (d - steepest);
        if (p < 0 || p >= m) continue;
        const at = q * slopes + d;
        let best = Number.NEGATIVE_INFINITY;
        for (let e = Math.max(0, d - sharpest); e <= Math.min(slopes - 1, d + sharpest); e++) {
          const v = value[p * slopes + e] - bendCost[e > d ? e - d : d - e];
          if (v > best) {
            best = v;
            back[at] = e;
          }
        }
        next[at] = best + own[q];
      }
    from.push(back);
    value = next;
  }
  let at = 0;
  for (let k = 1; k < value.length; k++) if (value[k] > value[at]) at = k;
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
