import { AT, PROJECTION_LENGTH, projectModule, type RadialLens } from './marker-model.js';
import { edgeSigmaPx, type MarkerSolution, type MarkerState, OWN_NUMBERS, TAG_CORNERS } from './marker-state.js';
import type { ModuleEdge } from './module-edges.js';

/** An edge farther off than both of these is not the marker's own. */
const MOST_OFF_SIGMAS = 6;
const MOST_OFF_MODULES = 0.1;
/** A residual counts as this many standard deviations at most when the spread of all is judged. */
const MOST_COUNTED_SIGMAS = 5;

const projection = new Float64Array(PROJECTION_LENGTH);

/**
 * Corners, uncertainty and quality of one marker of a common solution.
 * @param m place of the marker's numbers among the parameters
 * @param covariance of all parameters for residuals of unit variance; widened here by how far the residuals exceed that
 */
export function describeSolution(
  state: MarkerState,
  m: number,
  lens: RadialLens,
  p: Float64Array,
  covariance: Float64Array | null,
): MarkerSolution {
  const k = p[p.length - 1];
  const agreeing: ModuleEdge[] = [];
  let squares = 0;
  let scaled = 0;
  for (const reading of state.readings) {
    const { edge, predicted, fit } = reading;
    projectModule(p, m * OWN_NUMBERS, state.frame, lens, k, edge.a, edge.b, projection);
    const moved = predicted.nx * (projection[AT.x] - predicted.x) + predicted.ny * (projection[AT.y] - predicted.y);
    const residual = moved + edge.darkSide * p[m * OWN_NUMBERS + 8] - fit.offsetPx;
    const inSigmas = Math.abs(residual / edgeSigmaPx(reading));
    if (inSigmas > MOST_OFF_SIGMAS && Math.abs(residual) > MOST_OFF_MODULES * predicted.widthPx) continue;
    agreeing.push(edge);
    squares += residual * residual;
    scaled += Math.min(MOST_COUNTED_SIGMAS, inSigmas) ** 2;
  }
  const excess = Math.max(1, scaled / Math.max(1, agreeing.length - OWN_NUMBERS));
  const { corners, variance } = cornersOf(state, m, lens, p, covariance);
  return {
    corners,
    sigmaPx: Math.sqrt(variance * excess),
    residualPx: Math.sqrt(squares / Math.max(1, agreeing.length)),
    edgeCount: state.edges.length,
    agreeing: agreeing.length,
    covered: isCovered(agreeing, state.unit),
  };
}

/** The four corners, and the mean variance of their coordinates (infinite without a covariance). */
function cornersOf(state: MarkerState, m: number, lens: RadialLens, p: Float64Array, covariance: Float64Array | null) {
  const n = p.length;
  const corners = new Float64Array(8);
  let variance = covariance === null ? Number.POSITIVE_INFINITY : 0;
  TAG_CORNERS.forEach(([a, b], c) => {
    projectModule(p, m * OWN_NUMBERS, state.frame, lens, p[n - 1], a, b, projection);
    corners[2 * c] = projection[AT.x];
    corners[2 * c + 1] = projection[AT.y];
    if (covariance === null) return;
    for (const [at, byK] of [
      [AT.xh, AT.xk],
      [AT.yh, AT.yk],
    ]) {
      const row: [number, number][] = Array.from({ length: 8 }, (_, i) => [m * OWN_NUMBERS + i, projection[at + i]]);
      row.push([n - 1, projection[byK]]);
      for (const [i, di] of row) for (const [j, dj] of row) variance += (di * dj * covariance[i * n + j]) / 8;
    }
  });
  return { corners, variance };
}

/** Modules from a corner within which one edge at least must be seen, on one of its two sides. */
const CORNER_MODULES = 2;
/** Share of each side of the black square that must be seen. */
const LEAST_SIDE_SEEN = 0.5;

/** Whether a corner, or most of a side, shows no edge of the marker. */
function isCovered(agreeing: readonly ModuleEdge[], unit: number): boolean {
  const modules = Math.round(2 / unit);
  /** Modules seen on the sides at b = −1, a = 1, b = 1, a = −1, in the order of growing coordinate. */
  const seen = [0, 1, 2, 3].map(() => new Uint8Array(modules));
  for (const { across, a, b, outer } of agreeing) {
    if (!outer) continue;
    const side = across === 'b' ? (b < 0 ? 0 : 2) : a < 0 ? 3 : 1;
    seen[side][Math.floor(((across === 'b' ? a : b) + 1) / unit)] = 1;
  }
  if (seen.some((side) => side.reduce((sum, one) => sum + one, 0) < LEAST_SIDE_SEEN * modules)) return true;
  const nearStart = (side: Uint8Array) => side.subarray(0, CORNER_MODULES).includes(1);
  const nearEnd = (side: Uint8Array) => side.subarray(modules - CORNER_MODULES).includes(1);
  const [top, right, bottom, left] = seen;
  return !(
    (nearStart(top) || nearStart(left)) &&
    (nearEnd(top) || nearStart(right)) &&
    (nearEnd(bottom) || nearEnd(right)) &&
    (nearStart(bottom) || nearEnd(left))
  );
}
