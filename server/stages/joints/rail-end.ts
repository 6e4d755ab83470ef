import type { RailStrip } from './rail-strips.js';

/** Where a rail head ends, along its strip, in millimetres from the strip's first row. */
export interface RailEnd {
  readonly at: number;
  readonly uMm: number;
}

/**
 * Finds the end of a rail head to a fraction of a pixel: across the end the profile goes over from what the rail looks
 * like to what lies beyond (table, shadow, a pin in the middle); the share of the rail's look falls through one half at
 * the end. Linear light, in which blur is symmetrical.
 * @param roughMm where the end is to within two millimetres
 * @param towards +1 when the rail ends in the direction of growing s
 * @param beyondMm how much of the gap may be looked at
 */
export function locateRailEnd(strip: RailStrip, roughMm: number, towards: 1 | -1, beyondMm: number): RailEnd | null {
  let at = roughMm;
  for (let pass = 0; pass < 4; pass++) {
    const rail = meanProfile(strip, at - towards * 14, at - towards * 2.5);
    const beyond = meanProfile(
      strip,
      at + towards * Math.min(2, 0.35 * beyondMm),
      at + towards * Math.min(6, 0.65 * beyondMm),
    );
    if (!rail || !beyond) return null;
    let norm = 0;
    for (let k = 0; k < rail.length; k++) norm += (rail[k] - beyond[k]) ** 2;
    if (norm / rail.length < 1e-4) return null;
    const next = halfCrossing(strip, rail, beyond, norm, at, towards);
    if (next === null) return null;
    const moved = Math.abs(next - at);
    at = next;
    if (moved < 0.02) break;
  }
  return { at, uMm: 0.15 };
}

function meanProfile(strip: RailStrip, a: number, b: number): Float64Array | null {
  const from = Math.max(0, Math.round(Math.min(a, b) / strip.stepMm));
  const to = Math.min(strip.rows - 1, Math.round(Math.max(a, b) / strip.stepMm));
  if (to - from < 1) return null;
  const out = new Float64Array(strip.columns);
  for (let i = from; i <= to; i++)
    for (let k = 0; k < strip.columns; k++) out[k] += strip.data[i * strip.columns + k] / (to - from + 1);
  return out.some((v) => Number.isNaN(v)) ? null : out;
}

function halfCrossing(
  strip: RailStrip,
  rail: Float64Array,
  beyond: Float64Array,
  norm: number,
  near: number,
  towards: 1 | -1,
): number | null {
  const share = (i: number): number => {
    let sum = 0;
    for (let k = 0; k < strip.columns; k++)
      sum += (strip.data[i * strip.columns + k] - beyond[k]) * (rail[k] - beyond[k]);
    return sum / norm;
  };
  const reach = Math.round(4 / strip.stepMm);
  const middle = Math.round(near / strip.stepMm);
  let best: number | null = null;
  for (let d = -reach; d < reach; d++) {
    const i = middle + towards * d;
    const j = i + towards;
    if (i < 1 || j < 1 || i >= strip.rows - 1 || j >= strip.rows - 1) continue;
    const a = (share(i - 1) + 2 * share(i) + share(i + 1)) / 4;
    const b = (share(j - 1) + 2 * share(j) + share(j + 1)) / 4;
    if (a >= 0.5 && b < 0.5) {
      const place = (i + towards * ((a - 0.5) / (a - b))) * strip.stepMm;
      if (best === null || Math.abs(place - near) < Math.abs(best - near)) best = place;
    }
  }
  return best;
}
