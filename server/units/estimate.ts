/** A measured quantity with its standard uncertainty (k = 1), both in the unit that the name of the field says. */
export interface Estimate {
  readonly value: number;
  readonly u: number;
}

/** Coverage factor of a 95 % interval of a normal quantity (JCGM 100:2008, table G.1). */
export const coverage95 = 1.96;

/** Half width of the 95 % interval, in the estimate's unit. */
export function halfWidth95(estimate: Estimate): number {
  return coverage95 * estimate.u;
}
