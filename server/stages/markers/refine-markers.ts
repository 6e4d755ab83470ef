import { throwIfCancelled } from '../../base/cancel.js';
import type { Raster } from '../../images/raster.js';
import { fitEdge } from './edge-fit.js';
import { gatherPatch, newPatch, type PredictedEdge, predictEdge } from './edge-patch.js';
import { PROJECTION_LENGTH, projectModule, type RadialLens, startMarker } from './marker-model.js';
import { solveMarkers } from './marker-solve.js';
import type { EdgeReading, MarkerState } from './marker-state.js';
import { moduleEdges } from './module-edges.js';
import { type EdgeFit, roughEdge } from './rough-edge.js';
import { CODE_SIDE, familyGrids } from './tag-family.js';

/** A marker as read, before its edges were looked at. */
export interface ReadMarker {
  readonly id: number;
  /** Corners in the tag's own order, px. */
  readonly quad: Float64Array;
}

/** Rounds of: predict every edge, fit it, solve. */
const ROUNDS = 3;

/** Refines all markers of a photo together; entries of markers that did not hold are null. */
export function refineMarkers(
  raster: Raster,
  markers: readonly ReadMarker[],
  lens: RadialLens,
  borderModules: 1 | 2,
  signal?: AbortSignal,
): { readonly states: (MarkerState | null)[]; readonly k: number } {
  const grids = familyGrids();
  const states = markers.map((marker): MarkerState | null => {
    const start = startMarker(marker.quad);
    if (start === null) return null;
    return {
      ...start,
      edges: moduleEdges(grids[marker.id], borderModules),
      unit: 2 / (CODE_SIDE + 2 * borderModules),
      readings: [],
      spreadPx: 0,
      blur: [1, 0, 1],
      solution: null,
    };
  });
  let k = 0;
  for (let round = 0; round <= ROUNDS; round++) {
    throwIfCancelled(signal);
    for (const state of states) {
      if (state === null) continue;
      state.readings = readEdges(raster, state, lens, k, round);
      state.blur = blurOf(state);
    }
    k = solveMarkers(states, lens, k, round > 0);
  }
  return { states, k };
}

/** How far from an edge to look, in standard deviations of the blur, and a little for the shift. */
const REACH_BLURS = 3;
const REACH_MORE_PX = 1.5;
/** Of the modules on either side of an edge this much is used at most. */
const MOST_REACH_MODULES = 0.85;

const patch = newPatch();

function readEdges(raster: Raster, state: MarkerState, lens: RadialLens, k: number, round: number): EdgeReading[] {
  const readings: EdgeReading[] = [];
  const projection = new Float64Array(PROJECTION_LENGTH);
  for (const edge of state.edges) {
    projectModule(state.h, 0, state.frame, lens, k, edge.a, edge.b, projection);
    const predicted = predictEdge(edge, projection, state.unit);
    let fit: EdgeFit | null;
    if (round === 0) {
      const reach = Math.min(0.5 * predicted.widthPx, 60);
      gatherPatch(raster, predicted, Math.max(1.5, reach), 0.3, patch);
      fit = roughEdge(patch, Math.max(1.5, reach), edge.darkSide);
    } else {
      const blurPx = blurAlong(state.blur, predicted);
      const reach = Math.min(REACH_BLURS * blurPx + REACH_MORE_PX, MOST_REACH_MODULES * predicted.widthPx);
      const margin = Math.min(0.25, Math.max(0.08, (1.5 * blurPx) / predicted.lengthPx));
      gatherPatch(raster, predicted, reach, 0.5 - margin, patch);
      const freeBlur = round < ROUNDS && predicted.widthPx > 4 * blurPx;
      fit = fitEdge(patch, edge, predicted, { blurPx, freeBlur, spreadPx: state.spreadPx });
    }
    if (fit !== null) readings.push({ edge, predicted, fit });
  }
  const contrasts = readings.map((r) => r.fit.contrast).sort((p, q) => p - q);
  const usual = contrasts[contrasts.length >> 1];
  return readings.filter((r) => r.fit.contrast > 0.12 * usual);
}

/** Blur along an edge's normal, from the three numbers of its covariance. */
function blurAlong(blur: readonly [number, number, number], edge: PredictedEdge): number {
  const variance = blur[0] * edge.nx * edge.nx + 2 * blur[1] * edge.nx * edge.ny + blur[2] * edge.ny * edge.ny;
  return Math.sqrt(Math.max(0.1, variance));
}

/** Covariance of the blur that explains the widths of the edges in all directions (robust least squares, three rounds). */
function blurOf(state: MarkerState): MarkerState['blur'] {
  const usable = state.readings.filter((r) => r.fit.blurPx > 0.2);
  if (usable.length < 8) return state.blur;
  const sorted = usable.map((r) => r.fit.blurPx ** 2).sort((p, q) => p - q);
  const middle = sorted[sorted.length >> 1];
  let blur: [number, number, number] = [middle, 0, middle];
  for (let round = 0; round < 3; round++) {
    const m = new Float64Array(9);
    const v = new Float64Array(3);
    for (const { fit, predicted } of usable) {
      const { nx, ny } = predicted;
      const row = [nx * nx, 2 * nx * ny, ny * ny];
      const expected = row[0] * blur[0] + row[1] * blur[1] + row[2] * blur[2];
      const off = (fit.blurPx ** 2 - expected) / (0.15 * middle);
      const weight = 1 / (1 + off * off);
      row.forEach((p, i) => {
        v[i] += weight * p * fit.blurPx ** 2;
        row.forEach((q, j) => {
          m[3 * i + j] += weight * p * q;
        });
      });
    }
    // A little of an even blur, so that edges in two directions only still give an answer.
    const pull = 0.02 * usable.length;
    m[0] += pull;
    m[4] += pull;
    m[8] += pull;
    v[0] += pull * middle;
    v[2] += pull * middle;
    const solved = solve3(m, v);
    if (solved === null) return [middle, 0, middle];
    blur = solved;
  }
  return blur;
}

function solve3(m: Float64Array, v: Float64Array): [number, number, number] | null {
  const [a, b, c, d, e, f, g, h, i] = m;
  const det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  if (!(Math.abs(det) > 1e-12)) return null;
  const [x, y, z] = v;
  return [
    (x * (e * i - f * h) - b * (y * i - f * z) + c * (y * h - e * z)) / det,
    (a * (y * i - f * z) - x * (d * i - f * g) + c * (d * z - y * g)) / det,
    (a * (e * z - y * h) - b * (d * z - y * g) + x * (d * h - e * g)) / det,
  ];
}
