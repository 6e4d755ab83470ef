import { emptyProjection, projectWithDerivatives } from '../../geometry/project-with-derivatives.js';
import type { MeasuredSide } from '../../scene/measured-layout.js';
import type { SolvedTable } from '../../scene/solved-table.js';

/** One length's derivatives by the unknowns it hangs on, and the variance of reading it in the photo, mm². */
export interface LengthRow {
  readonly index: Int32Array;
  readonly derivative: Float64Array;
  readonly readingMm2: number;
}

/** Height of the axis of a rail head above the table, millimetres. */
export function railAxisMm({ track, railTopOffMm }: Pick<SolvedTable, 'track' | 'railTopOffMm'>): number {
  return track.railTopMm - track.headWidthMm / 2 + railTopOffMm;
}

/** Foot of (x, y) on a side: along it, and how far the point lies on the table's hand of it. */
export function footOn(side: MeasuredSide, x: number, y: number): { s: number; distanceMm: number } {
  const c = Math.cos(side.arc.headingRad);
  const n = Math.sin(side.arc.headingRad);
  const dx = x - side.arc.x;
  const dy = y - side.arc.y;
  return { s: dx * c + dy * n, distanceMm: -dx * n + dy * c };
}

/** The nearest side whose foot lies on it as far as it was seen; null when there is none. */
export function nearestSide(sides: readonly MeasuredSide[], x: number, y: number): number | null {
  let best: number | null = null;
  let bestMm = Number.POSITIVE_INFINITY;
  sides.forEach((side, i) => {
    const { s, distanceMm } = footOn(side, x, y);
    if (s < side.fromS - 1 || s > side.toS + 1 || distanceMm < 0 || distanceMm >= bestMm) return;
    best = i;
    bestMm = distanceMm;
  });
  return best;
}

/**
 * How the distance from a rail at (x, y) to a side follows the unknowns when the rail is read at its pixel of one photo:
 * the pixel stays, so what changes in lens, pose or rail height moves the place where its ray meets the height of the
 * rail (implicit derivative of the projection; JCGM 100:2008, 5.1.3).
 */
export function clearanceRow(solved: SolvedTable, photo: number, side: number, x: number, y: number): LengthRow {
  const { layout, quality } = solved;
  const { arc } = solved.sides[side];
  const q = emptyProjection();
  projectWithDerivatives(solved.cameras[photo], x, y, railAxisMm(solved), q);
  const nx = -Math.sin(arc.headingRad);
  const ny = Math.cos(arc.headingRad);
  const [a, b, , c, d] = q.byPoint;
  const determinant = a * d - b * c;
  // Millimetres of distance for each pixel in u and in v.
  const mu = (nx * d - ny * c) / determinant;
  const mv = (-nx * b + ny * a) / determinant;
  const index = new Int32Array(17);
  const derivative = new Float64Array(17);
  const lensAt = layout.lens[solved.lensOfPhoto[photo]];
  for (let k = 0; k < 7; k++) {
    index[k] = lensAt + k;
    derivative[k] = -(mu * q.byLens[k] + mv * q.byLens[7 + k]);
  }
  for (let k = 0; k < 6; k++) {
    index[7 + k] = layout.pose[photo] + k;
    derivative[7 + k] = -(mu * q.byPose[k] + mv * q.byPose[6 + k]);
  }
  index[13] = layout.railTop;
  derivative[13] = -(mu * q.byPoint[2] + mv * q.byPoint[5]);
  const at = layout.side[side];
  index.set([at, at + 1, at + 2], 14);
  derivative.set([-nx, -ny, -footOn(solved.sides[side], x, y).s], 14);
  return { index, derivative, readingMm2: quality.readingPx[photo] ** 2 * (mu * mu + mv * mv) };
}

/** Variance of a length, its reading left out: derivatives · covariance · derivatives. */
export function varianceOf(row: LengthRow, covariance: Float64Array, count: number): number {
  const { index, derivative } = row;
  let sum = 0;
  for (let i = 0; i < index.length; i++) {
    const line = index[i] * count;
    let inner = 0;
    for (let j = 0; j < index.length; j++) inner += covariance[line + index[j]] * derivative[j];
    sum += derivative[i] * inner;
  }
  return Math.max(0, sum);
}
