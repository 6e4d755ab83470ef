/** The standard deviation of normal numbers over the middle of their distances from their own middle (1/Φ⁻¹(¾)). */
export const sigmaOfMiddle = 1.4826;

/**
 * The value in the middle of the order: that with half of the others (rounded down) below it. The input is not changed;
 * anything that is no number makes the order that of `sort`, in which it comes last.
 */
export function middleOf(values: Float64Array): number {
  const copy = values.slice();
  for (let i = 0; i < copy.length; i++) if (Number.isNaN(copy[i])) return copy.sort()[copy.length >> 1];
  return selected(copy, copy.length >> 1);
}

/** The same of numbers only, which are put in another order; NaN of none. */
export function middleInPlace(values: Float64Array): number {
  if (values.length === 0) return Number.NaN;
  return selected(values, values.length >> 1);
}

/** Puts the value of a rank in its place (Hoare 1961, Comm. ACM 4:321, FIND). */
function selected(values: Float64Array, rank: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1];
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i > j) break;
      const swapped = values[i];
      values[i++] = values[j];
      values[j--] = swapped;
    }
    if (rank <= j) high = j;
    else if (rank >= i) low = i;
    else return values[rank];
  }
  return values[rank];
}
