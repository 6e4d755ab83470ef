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
