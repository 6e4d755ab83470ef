import type { Car } from '../contract/car.js';
import type { Plan } from '../contract/plan.js';
import type { Wishes } from '../contract/wishes.js';
import { type CarBody, sweepCar } from './car-sweep.js';
import type { Chain } from './chain.js';
import { overhang } from './overhang.js';
import { add, distance, dot, leftOf, lengthOf, scale, subtract, turn, type Vec } from './plane-vectors.js';
import { plannedLines } from './predict.js';
import type { Case } from './question.js';
import type { SolutionPlan } from './read-solution.js';
import type { TableShape } from './table-shape.js';
import { shareNearest, type TrackLine } from './track-line.js';

/** Nearest that a rail may come to the edge before it is flagged, where the user says nothing: practice, no source. */
export const defaultSafetyMm = 25;

type TrainRoom = NonNullable<Plan['trainRoom']>;
type TightPlace = TrainRoom['places'][number];

/** How finely the car is moved along the track. */
const everyMm = 10;

/** Room of the user's longest car along the planned track; nothing where no car is given. */
export function roomForTrains(given: Case, plan: SolutionPlan): { trainRoom?: TrainRoom } {
  const { car } = given.wishes;
  if (!car) return {};
  const room = trainRoom(plannedLines(plan), car, { table: given.table, zones: given.wishes.keepFree });
  return { trainRoom: { ...room, overhangs: given.chains.flatMap((chain) => tightestOverhang(chain, car)) } };
}

/** A shorter arc than this tells little about its radius. */
const longEnoughRad = Math.PI / 18;

function tightestOverhang(chain: Chain, car: Car): NonNullable<TrainRoom['overhangs']> {
  const radii = chain.elements.flatMap((e) =>
    e.kind === 'curve' && Math.abs(e.sweepRad) > longEnoughRad ? [e.radiusMm] : [],
  );
  const radiusMm = Math.min(...radii);
  if (radii.length === 0 || radiusMm <= car.truckCentresMm / 2) return [];
  const { inside, outside } = overhang(radiusMm, car);
  const tidy = (mm: number) => Math.round(mm * 100) / 100;
  return [{ run: chain.run, radiusMm: tidy(radiusMm), insideMm: tidy(inside), outsideMm: tidy(outside) }];
}

/**
 * Sweeps a car along every run and says how much room is left, nearest place first: to each table side, to each zone
 * (its own outline, without margin) and between the cars of any two runs. Negative room is a collision.
 * @param lines centre lines, measured or planned
 */
export function trainRoom(
  lines: readonly TrackLine[],
  car: Car,
  beside: { readonly table: TableShape; readonly zones: Wishes['keepFree'] },
): TrainRoom {
  const swept = lines.map((line) => ({ run: line.run, bodies: sweepCar(line, car, everyMm) }));
  const places: TightPlace[] = [];
  for (const { run, bodies } of swept) {
    for (const side of beside.table.sides) {
      const near = nearest(bodies, (body) => roomToSide(body, side));
      if (near) places.push({ run, against: side.name, kind: 'edge', ...near });
    }
    for (const zone of beside.zones) {
      const outline = zoneOutline(zone);
      const near = nearest(bodies, (body) => roomBetween(body, outline));
      if (near) places.push({ run, against: zone.name, kind: 'zone', ...near });
    }
  }
  swept.forEach((a, i) => {
    const beside = nearest(a.bodies, (body, toBeatMm) => roomToCars(body, alongside(body, a.bodies), car, toBeatMm));
    if (beside && beside.roomMm < besideAtMostMm) places.push({ run: a.run, against: a.run, kind: 'track', ...beside });
    for (const b of swept.slice(i + 1)) {
      const near = nearest(a.bodies, (body, toBeatMm) => roomToCars(body, b.bodies, car, toBeatMm));
      if (near) places.push({ run: a.run, against: b.run, kind: 'track', ...near });
    }
  });
  places.sort((a, b) => a.roomMm - b.roomMm);
  return { car, tightest: places[0] ?? null, places };
}

interface Room {
  readonly roomMm: number;
  readonly at: [number, number];
}

function nearest(
  bodies: readonly CarBody[],
  roomOf: (body: CarBody, toBeatMm: number) => { roomMm: number; at: Vec } | null,
): Room | null {
  let best: { roomMm: number; at: Vec } | null = null;
  for (const body of bodies) {
    const room = roomOf(body, best?.roomMm ?? Infinity);
    if (room && (!best || room.roomMm < best.roomMm)) best = room;
  }
  return best === null ? null : { roomMm: Math.round(best.roomMm * 100) / 100, at: [best.at[0], best.at[1]] };
}

function roomToSide(body: CarBody, side: TableShape['sides'][number]): { roomMm: number; at: Vec } | null {
  let best: { roomMm: number; at: Vec } | null = null;
  for (const corner of body) {
    const offset = subtract(corner, side.from);
    const footMm = dot(offset, side.along);
    const roomMm = dot(offset, side.inward);
    if (footMm < 0 || footMm > side.lengthMm || roomMm < -side.beyondMm) continue;
    if (!best || roomMm < best.roomMm) best = { roomMm, at: corner };
  }
  return best;
}

function roomToCars(
  body: CarBody,
  others: readonly CarBody[],
  car: Car,
  toBeatMm: number,
): { roomMm: number; at: Vec } | null {
  const reachMm = Math.hypot(car.lengthMm, car.widthMm);
  const middle = middleOf(body);
  let best: { roomMm: number; at: Vec } | null = null;
  for (const other of others) {
    const leastMm = best?.roomMm ?? toBeatMm;
    const apartMm = distance(middle, middleOf(other)) - reachMm;
    // The gap along any one direction is no wider than the distance itself.
    if (apartMm > car.lengthMm || apartMm > leastMm || separation(body, other) >= leastMm) continue;
    const room = roomBetween(body, other);
    if (room.roomMm < leastMm) best = room;
  }
  return best;
}

/** Further apart than this two parts of one run are no neighbours. */
const besideAtMostMm = 200;

/** Cars on another part of the same run that runs beside this one: parallel, and not further on along the same track. */
function alongside(body: CarBody, bodies: readonly CarBody[]): readonly CarBody[] {
  const way = subtract(body[0], body[3]);
  const length = lengthOf(way);
  const middle = middleOf(body);
  return bodies.filter((other) => {
    const offset = subtract(middleOf(other), middle);
    const besideMm = Math.abs(dot(offset, leftOf(way))) / length;
    const width = distance(body[0], body[1]);
    if (besideMm < width / 2 || besideMm > besideAtMostMm + 2 * width) return false;
    const turned = subtract(other[0], other[3]);
    const parallel = Math.abs(dot(way, turned)) > parallelCosine * length * lengthOf(turned);
    return parallel && Math.abs(dot(offset, way)) / length < length / 2;
  });
}

const parallelCosine = Math.cos(Math.PI / 18);

function middleOf(body: CarBody): Vec {
  return [(body[0][0] + body[2][0]) / 2, (body[0][1] + body[2][1]) / 2];
}

/** Distance of two convex outlines; negative = how deep one is in the other. */
export function roomBetween(a: readonly Vec[], b: readonly Vec[]): { roomMm: number; at: Vec } {
  const depthMm = separation(a, b);
  let best = { roomMm: Infinity, at: a[0] };
  for (const [from, to] of [
    [a, b],
    [b, a],
  ]) {
    for (const corner of from) {
      to.forEach((start, i) => {
        const end = to[(i + 1) % to.length];
        const share = shareNearest({ kind: 'line', from: start, to: end }, corner);
        const roomMm = distance(corner, add(start, scale(subtract(end, start), share)));
        if (roomMm < best.roomMm) best = { roomMm, at: corner };
      });
    }
  }
  return depthMm < 0 ? { roomMm: depthMm, at: best.at } : best;
}

/** Greatest gap between the outlines seen along any of their edges' normals; negative when they overlap. */
function separation(a: readonly Vec[], b: readonly Vec[]): number {
  let greatest = -Infinity;
  for (const outline of [a, b]) {
    for (let i = 0; i < outline.length; i++) {
      const edge = subtract(outline[(i + 1) % outline.length], outline[i]);
      const length = lengthOf(edge);
      if (length === 0) continue;
      const normal = scale(leftOf(edge), 1 / length);
      const [lowA, highA] = reachAlong(a, normal);
      const [lowB, highB] = reachAlong(b, normal);
      greatest = Math.max(greatest, lowA - highB, lowB - highA);
    }
  }
  return greatest;
}

function reachAlong(outline: readonly Vec[], normal: Vec): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  for (const point of outline) {
    const at = dot(point, normal);
    if (at < low) low = at;
    if (at > high) high = at;
  }
  return [low, high];
}

function zoneOutline(zone: Wishes['keepFree'][number]): Vec[] {
  const { widthMm: w, depthMm: d } = zone;
  const corners: Vec[] = [
    [-w / 2, -d / 2],
    [w / 2, -d / 2],
    [w / 2, d / 2],
    [-w / 2, d / 2],
  ];
  return corners.map((c) => add(zone.centre, turn(c, zone.angleRad)));
}
