/** Where the tables end, in standard deviations: beyond, the curve is flat to 1e-9. */
const REACH = 6;
const PER_UNIT = 256;

const density = Float64Array.from({ length: 2 * REACH * PER_UNIT + 2 }, (_, i) => {
  const z = i / PER_UNIT - REACH;
  return Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
});

/** Simpson's rule over each step; exact to 1e-11. */
const cumulative = new Float64Array(density.length);
for (let i = 1; i < density.length; i++) {
  const z = (i - 0.5) / PER_UNIT - REACH;
  const middle = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI);
  cumulative[i] = cumulative[i - 1] + (density[i - 1] + 4 * middle + density[i]) / (6 * PER_UNIT);
}

/**
 * Cumulative standard normal distribution, from a table, to 1e-6: an edge blurred by a Gaussian of σ px is this curve of
 * distance/σ.
 */
export function normalCdf(z: number): number {
  return look(cumulative, z, 1);
}

/** Density of the standard normal distribution, from a table, to 1e-6. */
export function normalDensity(z: number): number {
  return look(density, z, 0);
}

function look(table: Float64Array, z: number, beyond: number): number {
  if (z <= -REACH) return 0;
  if (z >= REACH) return beyond;
  const at = (z + REACH) * PER_UNIT;
  const i = at | 0;
  return table[i] + (at - i) * (table[i + 1] - table[i]);
}
