import type { TableTrail } from '../../../server/stages/joints/table-trail.js';

/** Where a made trail begins, millimetres along the line. */
export const madeTrailStartS = -40;

/** A trail a millimetre a row; a value for each stretch up to a place. */
export function madeTrail(...stretches: readonly (readonly [number, number])[]): TableTrail {
  const startS = madeTrailStartS;
  const end = stretches[stretches.length - 1][0];
  const like = Float32Array.from(
    { length: end - startS },
    (_, i) => stretches.find(([to]) => startS + i < to)?.[1] as number,
  );
  return { startS, stepMm: 1, like };
}
