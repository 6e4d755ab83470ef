import { quadraticForm } from '../linalg/quadratic-form.js';
import { type Arc, pointOnArc } from '../scene/track-observation.js';
import type { AdjustmentOutput } from '../stages/camera/adjustment.js';
import type { StartCamera } from '../stages/camera/start-camera.js';

/** Covariance of (x, y, heading) between two arcs of an adjustment, 3 × 3 row by row. */
export function arcCovarianceOf(output: AdjustmentOutput): (a: number, b: number) => readonly number[] | null {
  const { covariance, layout } = output;
  const n = layout.count;
  return (a, b) => {
    if (!covariance) return null;
    const out: number[] = [];
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) out.push(covariance[(layout.arc[a] + i) * n + layout.arc[b] + j]);
    return out;
  };
}

/** The same with more variance across some arcs, by their places in the adjustment: what it cannot know of them. */
export function withDoubts(
  covarianceOf: (a: number, b: number) => readonly number[] | null,
  doubts: ReadonlyMap<number, { readonly headingRad: number; readonly uMm: number }>,
): (a: number, b: number) => readonly number[] | null {
  return (a, b) => {
    const known = covarianceOf(a, b);
    const doubt = a === b ? doubts.get(a) : undefined;
    if (!known || !doubt) return known;
    const across = [-Math.sin(doubt.headingRad), Math.cos(doubt.headingRad), 0];
    return known.map((v, i) => v + doubt.uMm ** 2 * across[Math.floor(i / 3)] * across[i % 3]);
  };
}

/** Standard uncertainty of where an arc lies across itself, at s along it, millimetres. */
export function acrossUMm(
  arc: Arc,
  arcIndex: number,
  s: number,
  covarianceOf: (a: number, b: number) => readonly number[] | null,
): number {
  const c = covarianceOf(arcIndex, arcIndex);
  if (!c) return 0;
  const { x, y, headingRad } = pointOnArc(arc, s);
  const [nx, ny] = [-Math.sin(headingRad), Math.cos(headingRad)];
  const j = [nx, ny, -nx * (y - arc.y) + ny * (x - arc.x)];
  return Math.sqrt(Math.max(0, quadraticForm(j, c, j)));
}

/** Root mean square of the marker residuals of each photo, pixels. */
export function rmsOfPhotos(output: AdjustmentOutput, start: StartCamera, photoCount: number): number[] {
  const sum = new Float64Array(photoCount);
  const count = new Float64Array(photoCount);
  output.markerResidualsPx.forEach((r, i) => {
    const { photo } = start.markerObservations[i >> 3];
    sum[photo] += r * r;
    count[photo]++;
  });
  return Array.from(sum, (s, i) => Math.sqrt(s / Math.max(1, count[i])));
}
