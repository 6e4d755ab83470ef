/** A measured quantity with its standard uncertainty (k = 1), both in the unit that the name of the field says. */
export interface Estimate {
  readonly value: number;
  readonly u: number;
}

/** Coverage factor of a 95 % interval of a normal quantity (JCGM 100:2008, table G.1). */
export const coverage95 = 1.96;

/**
 * What two independent observations say of one quantity: their mean weighted by 1/u² (least squares), with the u that
 * follows for uncorrelated inputs (JCGM 100:2008, 5.1.2). Never less sure than the surer one.
 */
export function meanOfTwo(a: Estimate, b: Estimate): Estimate {
  const apartU = Math.hypot(a.u, b.u);
  if (apartU === 0) return a;
  // 1/u² of a tiny u is no number any more; shares are.
  const shareOfB = (a.u / apartU) ** 2;
  return { value: a.value + shareOfB * (b.value - a.value), u: a.u * (b.u / apartU) };
}

/** Half width of the 95 % interval, in the estimate's unit. */
export function halfWidth95(estimate: Estimate): number {
  return coverage95 * estimate.u;
}
