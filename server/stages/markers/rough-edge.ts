import type { EdgePatch } from './edge-patch.js';

/** What one edge says: how far it lies from where it was predicted. */
export interface EdgeFit {
  /** Along the normal, px. */
  readonly offsetPx: number;
  /** Standard uncertainty from the scatter of its own pixels. */
  readonly sigmaPx: number;
  /** Blur (standard deviation of the Gaussian), px. */
  readonly blurPx: number;
  /** Linear light of white minus black. */
  readonly contrast: number;
  /** Scatter of the pixels about the model over the contrast. */
  readonly scatter: number;
  readonly clippedShare: number;
}

const BINS = 48;

/** First look, without a model: the middle crossing between the plateaus at both ends of the averaged profile. */
export function roughEdge(patch: EdgePatch, reachPx: number, darkSide: 1 | -1): EdgeFit | null {
  if (patch.count < 12) return null;
  const bins = Math.max(6, Math.min(BINS, Math.round((2 * reachPx) / 0.5)));
  const sum = new Float64Array(bins);
  const hits = new Float64Array(bins);
  for (let i = 0; i < patch.count; i++) {
    const bin = Math.min(bins - 1, Math.floor(((patch.s[i] + reachPx) / (2 * reachPx)) * bins));
    sum[bin] += patch.light[i];
    hits[bin]++;
  }
  // Always from dark to bright.
  const place: number[] = [];
  const value: number[] = [];
  for (let k = 0; k < bins; k++) {
    const bin = darkSide === 1 ? bins - 1 - k : k;
    if (hits[bin] === 0) continue;
    place.push(((bin + 0.5) / bins) * 2 * reachPx - reachPx);
    value.push(sum[bin] / hits[bin]);
  }
  const ends = Math.max(1, Math.floor(value.length / 6));
  const dark = value.slice(0, ends).reduce((p, q) => p + q, 0) / ends;
  const bright = value.slice(-ends).reduce((p, q) => p + q, 0) / ends;
  const contrast = bright - dark;
  if (!(contrast > 0.004)) return null;
  const crossing = (level: number) => {
    for (let k = 1; k < value.length; k++) {
      const [p, q] = [(value[k - 1] - dark) / contrast, (value[k] - dark) / contrast];
      if (p < level && q >= level) return place[k - 1] + ((level - p) / (q - p)) * (place[k] - place[k - 1]);
    }
    return null;
  };
  const [low, middle, high] = [crossing(0.25), crossing(0.5), crossing(0.75)];
  if (low === null || middle === null || high === null) return null;
  // Between quarter and three quarters a blurred step takes 1.349 standard deviations.
  const blurPx = Math.abs(high - low) / 1.349;
  return { offsetPx: middle, sigmaPx: 0.25 * Math.max(0.5, blurPx), blurPx, contrast, scatter: 0, clippedShare: 0 };
}
