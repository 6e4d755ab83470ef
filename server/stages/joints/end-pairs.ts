import { endClearness } from './end-clearness.js';
import type { RailPart } from './rail-parts.js';

/** A place where rails seem to end, and one where they begin again, millimetres from the strips' first row. */
export interface EndPair {
  readonly from: number;
  readonly to: number;
}

export interface EndPairOptions {
  readonly shortestMm: number;
  readonly longestMm: number;
  /** An end less clear than this is passed over. */
  readonly leastClearness: number;
}

export interface FacingEnds {
  readonly pairs: readonly EndPair[];
  /** Clearness that spots of rust, ties and shadows reach along this run: true ends are few, and clearer. */
  readonly noise: number;
}

/** True ends of a run, at most, by its length: those at its gaps, and a few that covers make. */
const endsExpected = { atLeast: 8, perMm: 0.002 };

/** Step in which ends are looked for. */
const scanStepMm = 1;

/** How much gap is supposed beyond an end that is looked for. */
const supposedGapMm = 8;

/**
 * Looks along a whole run for ends of rails that face each other. A short gap that pins bridge looks much like rail, so
 * that no row of it is unlike one; but its ends are square across heads and flanges of all rails.
 * @returns every such pair that may be a gap; most share an end with another pair, and at most one of those is a gap
 */
export function endPairs(views: readonly RailPart[], options: EndPairOptions): FacingEnds {
  const allStops = peaks(views, 1);
  const allStarts = peaks(views, -1);
  const byClearness = [...allStops, ...allStarts].map((end) => end.clearness).sort((a, b) => b - a);
  const { rows, stepMm } = views[0].strip;
  const noise = byClearness[Math.round(endsExpected.atLeast + endsExpected.perMm * rows * stepMm)] ?? 0;
  const stops = allStops.filter((end) => end.clearness >= options.leastClearness);
  const starts = allStarts.filter((end) => end.clearness >= options.leastClearness);
  const pairs = stops.flatMap((stop) =>
    starts
      .filter((start) => start.at - stop.at >= options.shortestMm && start.at - stop.at <= options.longestMm)
      .map((start) => ({ from: stop.at, to: start.at })),
  );
  return { pairs, noise };
}

function peaks(views: readonly RailPart[], towards: 1 | -1): { at: number; clearness: number }[] {
  const { rows, stepMm } = views[0].strip;
  const count = Math.floor(((rows - 1) * stepMm) / scanStepMm) + 1;
  const clearness = Float64Array.from({ length: count }, (_, i) =>
    endClearness(views, i * scanStepMm, towards, supposedGapMm),
  );
  const out: { at: number; clearness: number }[] = [];
  for (let i = 2; i + 2 < count; i++) {
    const c = clearness[i];
    if (c <= 0) continue;
    if (c < clearness[i - 1] || c < clearness[i - 2] || c <= clearness[i + 1] || c <= clearness[i + 2]) continue;
    out.push({ at: i * scanStepMm, clearness: c });
  }
  return out;
}
