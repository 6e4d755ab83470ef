import { dot, scale, type Vec } from './plane-vectors.js';
import type { Region } from './regions.js';
import { dotsTowards, type TrackDot, type TrackSpan } from './spans.js';

/** One way to keep a span out of a region: every dot beyond a line. */
export interface WayOut {
  readonly outward: Vec;
  readonly offsetMm: number;
  /** How far the span still is from it; negative = clear by that much. */
  readonly lackMm: number;
}

/** Where a dot of a span is in the layout looked at. */
export type DotPlace = (dot: TrackDot) => Vec;

/**
 * The ways out of a region for a span: beyond one of the region's walls, or with the whole region to one side of the
 * span (the separating lines of two convex shapes).
 */
export function waysOut(region: Region, span: TrackSpan, at: DotPlace): WayOut[] {
  const beyond = (outward: Vec, offsetMm: number): WayOut => {
    const lacks = dotsTowards(span, outward).map((d) => offsetMm + d.radiusMm - dot(outward, at(d)));
    return { outward, offsetMm, lackMm: Math.max(...lacks) };
  };
  const ways = region.walls.map((wall) => beyond(wall.outward, wall.offsetMm));
  if (region.onlyWall) return ways;
  for (const sign of [1, -1]) {
    const outward = scale(span.left, sign);
    ways.push(beyond(outward, Math.max(...region.corners.map((c) => dot(outward, c)))));
  }
  return ways;
}

/** On which side of a run a region is to lie, seen along the run; for a loop that is its inside or its outside. */
export type RegionSide = 'left' | 'right';

/** A way out whose direction leaves the region on the wrong side of the span by more than this is none. */
const wrongSide = 0.3;

/** Of the ways out of a region, those that leave it on one side of the span: beside it there, before it or behind it. */
export function waysOnSide(ways: readonly WayOut[], span: TrackSpan, side: RegionSide): readonly WayOut[] {
  const sign = side === 'left' ? 1 : -1;
  return ways.filter((way) => sign * dot(way.outward, span.left) <= wrongSide);
}

/** How far a span is in a region; negative = clear by that much. */
export function lackOf(region: Region, span: TrackSpan, at: DotPlace): number {
  return Math.min(...waysOut(region, span, at).map((way) => way.lackMm));
}

export const asMeasured: DotPlace = (d) => d.measured;
