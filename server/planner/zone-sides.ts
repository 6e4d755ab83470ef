import { rangeOf } from './edge-clearance.js';
import { distance, dot, scale, subtract, type Vec } from './plane-vectors.js';
import type { Case } from './question.js';
import { zoneRegions } from './regions.js';
import { measuredSpans, type TrackSpan } from './spans.js';
import { placeOn, shareNearest } from './track-line.js';
import { asMeasured, lackOf, type RegionSide } from './ways-out.js';
import { clearanceKey, type ZoneSide, type ZoneSides } from './wish-rows.js';

/** Zones farther from a run than this do not matter to it. */
const nearZoneMm = 300;

interface NearZone {
  readonly key: string;
  /** The side that it lies on now, or most of it. */
  readonly side: RegionSide;
  readonly inTheWay: boolean;
}

/**
 * The ways round zones, and out of parts of sides, that are worth trying, likeliest first. A zone that no track touches stays on its side of the run;
 * one that lies on the track may come to lie on either, or wholly beyond one of its own sides.
 * Track leaves the part of a side that a wish is about inwards, or sideways.
 * @returns `likely`: every way round each zone that is in the way, with all such parts left either way, or inwards;
 * `more`: one other zone at a time on its other side, and one such part at a time left inwards, or either way
 */
export function zoneSides(given: Case): { readonly likely: readonly ZoneSides[]; readonly more: readonly ZoneSides[] } {
  const round = roundZones(given);
  const parts = given.wishes.clearance.flatMap((wish, i) => (isForPart(given, wish) ? [clearanceKey(i)] : []));
  if (parts.length === 0) return round;
  const [natural] = round.likely;
  const inwards = (sides: ZoneSides, keys: readonly string[]): ZoneSides =>
    new Map([...sides, ...keys.map((key) => [key, inwardWall] as const)]);
  const single = parts.length === 1 || parts.length > partsAtMost ? [] : parts;
  return {
    likely: round.likely.flatMap((sides) => [sides, inwards(sides, parts)]),
    more: [
      ...round.more.flatMap((sides) => [sides, inwards(sides, parts)]),
      ...single.map((key) => inwards(natural, [key])),
      ...single.map((key) =>
        inwards(
          natural,
          parts.filter((other) => other !== key),
        ),
      ),
    ],
  };
}

/** With more wishes for parts of sides than these, not each of them is tried by itself. */
const partsAtMost = 4;

/** The first wall of a part of a side is the one that faces the table. */
const inwardWall = 0;

function isForPart(given: Case, wish: Case['wishes']['clearance'][number]): boolean {
  const side = given.table.sides.find((s) => s.name === wish.side);
  if (side === undefined) return false;
  const { fromMm, toMm } = rangeOf(wish, side);
  return !side.facesAll || fromMm > 0 || toMm < side.lengthMm;
}

function roundZones(given: Case): { readonly likely: readonly ZoneSides[]; readonly more: readonly ZoneSides[] } {
  const zones = nearZones(given);
  const natural = new Map<string, ZoneSide>(zones.map((z) => [z.key, z.side]));
  const withSide = (zone: NearZone, side: ZoneSide): ZoneSides => new Map([...natural, [zone.key, side] as const]);
  const inTheWay = zones.filter((z) => z.inTheWay);
  const others = zones.filter((z) => !z.inTheWay);
  return {
    likely: [
      natural,
      ...inTheWay.flatMap((z) => [withSide(z, otherSide(z.side)), ...zoneWalls.map((wall) => withSide(z, wall))]),
      ...(inTheWay.length > 1
        ? [new Map([...natural, ...inTheWay.map((z) => [z.key, otherSide(z.side)] as const)])]
        : []),
    ],
    more: others.map((z) => withSide(z, otherSide(z.side))),
  };
}

const zoneWalls = [0, 1, 2, 3] as const;

function otherSide(side: RegionSide): RegionSide {
  return side === 'left' ? 'right' : 'left';
}

function nearZones(given: Case): NearZone[] {
  if (given.wishes.keepFree.length === 0) return [];
  const spans = measuredSpans(given.chains, given.faceMm);
  const zones: NearZone[] = [];
  for (const region of zoneRegions(given.wishes)) {
    const centre = given.wishes.keepFree[region.index].centre;
    given.chains.forEach((_, chain) => {
      const own = spans.filter((s) => s.chain === chain);
      const nearest = nearestSpan(own, centre);
      if (nearest === null || nearest.apartMm > nearZoneMm) return;
      const inTheWay = own.some((span) => lackOf(region, span, asMeasured) > 0);
      zones.push({ key: `${region.index}:${chain}`, side: sideOf(nearest.span, centre), inTheWay });
    });
  }
  return zones;
}

function nearestSpan(spans: readonly TrackSpan[], centre: Vec): { span: TrackSpan; apartMm: number } | null {
  let best: { span: TrackSpan; apartMm: number } | null = null;
  for (const span of spans) {
    const apartMm = distance(centre, placeOn(span.stroke, shareNearest(span.stroke, centre)).at);
    if (best === null || apartMm < best.apartMm) best = { span, apartMm };
  }
  return best;
}

function sideOf(span: TrackSpan, centre: Vec): RegionSide {
  const ends = [placeOn(span.stroke, 0).at, placeOn(span.stroke, 1).at];
  const middle = scale([ends[0][0] + ends[1][0], ends[0][1] + ends[1][1]], 0.5);
  return dot(subtract(centre, middle), span.left) >= 0 ? 'left' : 'right';
}
