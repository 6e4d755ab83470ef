import type { RailStrip } from './rail-strips.js';

/** Where a rail head ends, along its strip, in millimetres from the strip's first row. */
export interface RailEnd {
  readonly at: number;
  readonly uMm: number;
  /** How strong the change is, against the strongest one near: 0…1. */
  readonly share: number;
}

/** Steps back from the rough place at which an end is looked for too: a pin in the gap may have passed for rail. */
const stepsBackMm = [0, 3, 6, 9, 12, 15, 18];

/** A change weaker than this share of the strongest one near is not the end of the head (power of the difference). */
const leastShare = 0.35;

/**
 * Finds the end of a rail head to a fraction of a pixel: across the end the profile goes over from what the rail looks
 * like to what lies beyond (table, shadow, a pin in the middle); the share of the rail's look falls through one half at
 * the end. Linear light, in which blur is symmetrical. Of several changes, as from head to pin and from pin to table, the
 * one nearest the rail counts, if it is not weak.
 * @param roughMm where the rail seems to end
 * @param towards +1 when the rail ends in the direction of growing s
 * @param beyondMm how much of the gap may be looked at
 * @param reachBackMm how far back towards the rail the end may lie
 */
export function railEnds(
  strip: RailStrip,
  roughMm: number,
  towards: 1 | -1,
  beyondMm: number,
  reachBackMm: number,
): RailEnd[] {
  const found: { at: number; power: number }[] = [];
  for (const back of stepsBackMm) {
    if (back > reachBackMm) break;
    const end = settle(strip, roughMm - towards * back, towards, beyondMm + back);
    if (end && !found.some((f) => Math.abs(f.at - end.at) < 0.3)) found.push(end);
  }
  const strongest = Math.max(...found.map((f) => f.power));
  return found
    .filter((f) => f.power >= leastShare * strongest)
    .map((f) => ({ at: f.at, uMm: 0.15, share: f.power / strongest }));
}

/** Ends of the rails of one section stand this close to square, millimetres along the track. */
const squareMm = 1.5;

/**
 * The ends that belong together among the candidates of each rail: a section is cut square, so they lie side by side.
 * @returns one end for each rail, null where it has none there; null when fewer than two rails agree
 */
export function endsSideBySide(
  candidates: readonly (readonly RailEnd[])[],
  towards: 1 | -1,
): readonly (RailEnd | null)[] | null {
  let best: { ends: (RailEnd | null)[]; merit: number } | null = null;
  for (const seed of candidates.flat()) {
    const ends = candidates.map((own) => {
      const near = own.filter((e) => Math.abs(e.at - seed.at) <= squareMm);
      return near.length === 0
        ? null
        : near.reduce((a, b) => (Math.abs(b.at - seed.at) < Math.abs(a.at - seed.at) ? b : a));
    });
    const agreeing = ends.filter((e) => e !== null);
    if (agreeing.length < Math.min(2, candidates.length)) continue;
    const share = agreeing.reduce((sum, e) => sum + e.share, 0) / agreeing.length;
    // Rails that agree count most; of equal ones the end nearer to the rail, before the pins, counts.
    const merit = 10 * agreeing.length + 3 * share - 0.05 * towards * seed.at;
    if (!best || merit > best.merit) best = { ends, merit };
  }
  return best ? best.ends : null;
}

function settle(
  strip: RailStrip,
  startMm: number,
  towards: 1 | -1,
  beyondMm: number,
): { at: number; power: number } | null {
  let at = startMm;
  let power = 0;
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
    power = norm;
    if (moved < 0.02) break;
  }
  return { at, power };
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
