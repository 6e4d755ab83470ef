import type { Wishes } from '../contract/wishes.js';
import { rangeOf, type SideRange } from './edge-clearance.js';
import { add, dot, leftOf, scale, turn, type Vec } from './plane-vectors.js';
import type { Side, TableShape } from './table-shape.js';

/** A convex place that the track must stay out of: the strip along a side, or a zone with its margin. */
export interface Region {
  readonly kind: 'clearance' | 'keep-free' | 'on-table' | 'safety';
  /** Of the wish in its list; of the side for on-table and safety. */
  readonly index: number;
  readonly walls: readonly Wall[];
  readonly corners: readonly Vec[];
  /** With one wall only there is nothing to choose: every dot of every span must lie beyond it. */
  readonly onlyWall: boolean;
  /** Given up after all wishes, as the table's edge is. */
  readonly firm?: boolean;
}

/** The track lies beyond a wall when outward · point ≥ offset. */
export interface Wall {
  readonly outward: Vec;
  readonly offsetMm: number;
}

/** Far enough that no track lies beyond it: nothing on a table top is longer. */
const farMm = 3000;

export interface RegionInputs {
  readonly wishes: Wishes;
  readonly table: TableShape;
  /** Clearance that a side gets without any wish: never below the edge, unless the track lies there now. */
  readonly edgeMm: (side: Side) => number;
  /** Clearance that a side gets where no wish of the user's speaks against it. */
  readonly safetyMm: (side: Side) => number;
  readonly firmZones?: ReadonlySet<number>;
}

export function wishRegions({ wishes, table, edgeMm, safetyMm, firmZones }: RegionInputs): Region[] {
  const regions: Region[] = [];
  wishes.clearance.forEach((wish, index) => {
    const side = table.sides.find((s) => s.name === wish.side);
    if (!side) return;
    regions.push(stripRegion('clearance', index, side, { ...rangeOf(wish, side), deepMm: wish.atLeastMm }));
  });
  regions.push(...zoneRegions(wishes).map((zone) => ({ ...zone, firm: firmZones?.has(zone.index) ?? false })));
  table.sides.forEach((side, index) => {
    const whole = { fromMm: 0, toMm: side.lengthMm };
    regions.push(stripRegion('on-table', index, side, { ...whole, deepMm: edgeMm(side) }));
    const safeMm = safetyMm(side);
    if (safeMm > edgeMm(side)) regions.push(stripRegion('safety', index, side, { ...whole, deepMm: safeMm }));
  });
  return regions;
}

/** The zones that are to stay free, with their margins. */
export function zoneRegions(wishes: Wishes): Region[] {
  return wishes.keepFree.map((zone, index) => {
    const across = turn([1, 0], zone.angleRad);
    const halfWidth = zone.widthMm / 2 + zone.marginMm;
    const halfDepth = zone.depthMm / 2 + zone.marginMm;
    const reaches = [halfWidth, halfDepth, halfWidth, halfDepth] as const;
    return boxRegion('keep-free', index, zone.centre, across, leftOf(across), reaches);
  });
}

function stripRegion(
  kind: Region['kind'],
  index: number,
  side: Side,
  strip: SideRange & { readonly deepMm: number },
): Region {
  const whole = strip.fromMm <= 0 && strip.toMm >= side.lengthMm;
  const middle = add(side.from, scale(side.along, (strip.fromMm + strip.toMm) / 2));
  const half = (strip.toMm - strip.fromMm) / 2;
  const beyondMm = Math.min(side.beyondMm, farMm);
  const box = boxRegion(kind, index, middle, side.along, side.inward, [half, strip.deepMm, half, beyondMm]);
  // Walls in the order of boxRegion: along, inward, against along, outward; nothing may lie on the outward side.
  const walls = whole && side.facesAll ? [box.walls[1]] : [box.walls[1], box.walls[0], box.walls[2]];
  return { ...box, walls: side.beyondMm < farMm ? [...walls, box.walls[3]] : walls, onlyWall: walls.length === 1 };
}

/** A box around `centre`: reaches along `across`, along `up`, against `across`, against `up`. */
function boxRegion(
  kind: Region['kind'],
  index: number,
  centre: Vec,
  across: Vec,
  up: Vec,
  reaches: readonly [number, number, number, number],
): Region {
  const outwards = [across, up, scale(across, -1), scale(up, -1)];
  const walls = outwards.map((outward, i) => ({ outward, offsetMm: dot(outward, centre) + reaches[i] }));
  const corners = [0, 1, 2, 3].map((i) => {
    const next = (i + 1) % 4;
    return add(add(centre, scale(outwards[i], reaches[i])), scale(outwards[next], reaches[next]));
  });
  return { kind, index, walls, corners, onlyWall: false };
}
