import { alongPiece, alongStraight } from '../../server/contract/along-piece.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import type { Mark } from './marks.js';
import type { PictureFrame } from './picture-frame.js';
import type { Pair } from './track-lines.js';
import type { Point } from './view.js';

type Zone = Wishes['keepFree'][number];
type ClearanceWish = Wishes['clearance'][number];

/** A place on the picture that can be dragged to change a wish. */
export interface Handle {
  /** `zone:0`, `turn:0`, `band:1`, `bandFrom:1`, `bandTo:1`. */
  readonly id: string;
  readonly at: Point;
  readonly name: string;
}

/** Distance from a zone's edge to the handle that turns it, and least from its middle: two fingers apart on a phone, mm. */
const turnReachMm = 60;
const leastTurnReachMm = 230;

/** Draws the wishes: a band along a side that is to stay free, and the outlines of what stands beside the track. */
export function wishMarks(report: Report, wishes: Wishes, frame: PictureFrame): Mark[] {
  const draw = (points: readonly Pair[]): Point[] =>
    points.map((p) => frame.pictureFromTable(p[0], p[1], 0)).filter((p): p is Point => p !== null);
  const bands = wishes.clearance.map((wish, i): Mark => {
    const outline = bandOutline(report, wish);
    return { key: `band ${i}`, layer: 'wishes', thing: `band:${i}`, lines: outline ? [draw(outline)] : [], area: true };
  });
  const zones = wishes.keepFree.map((zone, i): Mark => {
    const outline = zoneCorners(zone, 0);
    const room = zone.marginMm > 0 ? [closed(zoneCorners(zone, zone.marginMm))] : [];
    return {
      key: `zone ${i}`,
      layer: 'wishes',
      thing: `zone:${i}`,
      area: true,
      lines: [closed(outline), ...room].map(draw),
    };
  });
  return [...bands, ...zones, ...stayMarks(report, wishes, frame)].filter((mark) =>
    mark.lines.some((line) => line.length > 1),
  );
}

/** Pieces that stay are drawn over once more. */
function stayMarks(report: Report, wishes: Wishes, frame: PictureFrame): Mark[] {
  return wishes.stay.flatMap(({ run, pieces }) =>
    pieces.flatMap((i): Mark[] => {
      const piece = report.runs.find((r) => r.id === run)?.pieces[i];
      if (!piece) return [];
      const line = alongPiece(piece, 0).map((p) => frame.pictureFromTable(p[0], p[1], report.track.railTopMm));
      const lines = [line.filter((p): p is Point => p !== null)];
      return [{ key: `stay ${run} ${i}`, layer: 'wishes', thing: `stay:${run}:${i}`, lines }];
    }),
  );
}

/** What can be dragged on the picture. */
export function wishHandles(report: Report, wishes: Wishes, frame: PictureFrame): Handle[] {
  const handles: Handle[] = [];
  const add = (id: string, name: string, p: Pair): void => {
    const at = frame.pictureFromTable(p[0], p[1], 0);
    if (at) handles.push({ id, name, at });
  };
  wishes.clearance.forEach((wish, i) => {
    const line = bandLine(report, wish);
    if (!line) return;
    add(`band:${i}`, `room along side ${wish.side}`, [(line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2]);
    add(`bandFrom:${i}`, `where the room along side ${wish.side} begins`, line[0]);
    add(`bandTo:${i}`, `where the room along side ${wish.side} ends`, line[1]);
  });
  wishes.keepFree.forEach((zone, i) => {
    add(`zone:${i}`, zone.name, zone.centre);
    const reach = Math.max(leastTurnReachMm, zone.widthMm / 2 + turnReachMm);
    add(`turn:${i}`, `turn ${zone.name}`, [
      zone.centre[0] + reach * Math.cos(zone.angleRad),
      zone.centre[1] + reach * Math.sin(zone.angleRad),
    ]);
  });
  return handles;
}

/** The wishes after a handle was dragged to a place on the table. Lengths snap to `stepMm`, angles to 5°. */
export function dragged(report: Report, wishes: Wishes, handle: string, to: Pair, stepMm: number): Wishes {
  const [kind, key] = handle.split(':');
  const index = Number(key);
  const snap = (mm: number): number => Math.round(mm / stepMm) * stepMm;
  if (kind === 'band' || kind === 'bandFrom' || kind === 'bandTo') {
    const wish = wishes.clearance[index];
    const side = report.table.sides.find((s) => s.name === wish?.side);
    if (!wish || !side) return wishes;
    const next =
      kind === 'band'
        ? { ...wish, atLeastMm: Math.max(0, snap(inwardsOf(side, to))) }
        : spanned(wish, side, kind, snap(alongOf(side, to)));
    return { ...wishes, clearance: wishes.clearance.map((w, i) => (i === index ? next : w)) };
  }
  const zone = wishes.keepFree[index];
  if (!zone) return wishes;
  const turned = Math.atan2(to[1] - zone.centre[1], to[0] - zone.centre[0]);
  const grid = Math.PI / 36;
  const next: Zone =
    kind === 'turn'
      ? { ...zone, angleRad: Math.round(turned / grid) * grid }
      : { ...zone, centre: [snap(to[0]), snap(to[1])] };
  return { ...wishes, keepFree: wishes.keepFree.map((z, i) => (i === index ? next : z)) };
}

/** Shortest band that can be dragged, millimetres. */
const shortestBandMm = 50;
/** Nearer to the end of its side than this, a band goes on to that end. */
const endCatchMm = 25;

/** A band with one end dragged along its side; a band over the whole side has no ends of its own. */
function spanned(wish: ClearanceWish, side: Side, kind: 'bandFrom' | 'bandTo', alongMm: number): ClearanceWish {
  const length = lengthOf(side);
  const { fromMm: from = 0, toMm: to = length, ...rest } = wish;
  const fromMm = kind === 'bandFrom' ? Math.max(0, Math.min(alongMm, to - shortestBandMm)) : from;
  const toMm = kind === 'bandTo' ? Math.min(length, Math.max(alongMm, from + shortestBandMm)) : to;
  const whole = fromMm < endCatchMm && toMm > length - endCatchMm;
  return whole
    ? rest
    : { ...rest, fromMm: fromMm < endCatchMm ? 0 : fromMm, toMm: toMm > length - endCatchMm ? length : toMm };
}

/** Corners of a zone with room around it, counter-clockwise. Width lies along its angle. */
export function zoneCorners(zone: Zone, roomMm: number): Pair[] {
  const [c, s] = [Math.cos(zone.angleRad), Math.sin(zone.angleRad)];
  const [w, d] = [zone.widthMm / 2 + roomMm, zone.depthMm / 2 + roomMm];
  return [[-w, -d] as const, [w, -d] as const, [w, d] as const, [-w, d] as const].map(
    ([x, y]) => [zone.centre[0] + x * c - y * s, zone.centre[1] + x * s + y * c] as const,
  );
}

/** The inner line of a wished clearance, parallel to its side. Sides run counter-clockwise: the table is to their left. */
function bandLine(report: Report, wish: ClearanceWish): [Pair, Pair] | null {
  const side = report.table.sides.find((s) => s.name === wish.side);
  if (!side) return null;
  const length = lengthOf(side);
  const u: Pair = [(side.to[0] - side.from[0]) / length, (side.to[1] - side.from[1]) / length];
  const at = (alongMm: number): Pair => [
    side.from[0] + u[0] * alongMm - u[1] * wish.atLeastMm,
    side.from[1] + u[1] * alongMm + u[0] * wish.atLeastMm,
  ];
  return [at(Math.min(wish.fromMm ?? 0, length)), at(Math.min(wish.toMm ?? length, length))];
}

/** The area between a side and its wished clearance, closed. */
function bandOutline(report: Report, wish: ClearanceWish): Pair[] | null {
  const inner = bandLine(report, wish);
  const outer = bandLine(report, { ...wish, atLeastMm: 0 });
  if (!inner || !outer) return null;
  return [...alongStraight(outer[0], outer[1]), ...alongStraight(inner[1], inner[0]), outer[0]];
}

type Side = Pick<Report['table']['sides'][number], 'from' | 'to'>;

function lengthOf({ from, to }: Side): number {
  return Math.hypot(to[0] - from[0], to[1] - from[1]);
}

/** Distance of a place from a side's line, towards the table. */
export function inwardsOf(side: Side, p: Pair): number {
  const { from, to } = side;
  return ((to[0] - from[0]) * (p[1] - from[1]) - (to[1] - from[1]) * (p[0] - from[0])) / lengthOf(side);
}

/** Place along a side of the foot of a point, from where the side begins. */
function alongOf(side: Side, p: Pair): number {
  const { from, to } = side;
  return ((to[0] - from[0]) * (p[0] - from[0]) + (to[1] - from[1]) * (p[1] - from[1])) / lengthOf(side);
}

function closed(points: readonly Pair[]): Pair[] {
  return [...points, points[0]];
}
