import type { Car } from '../contract/car.js';
import { add, distance, leftOf, scale, subtract, type Vec } from './plane-vectors.js';
import { placeOn, type Stroke, strokeEnd, strokeLength, type TrackLine } from './track-line.js';

/** Outline of a car standing somewhere on the track: its four corners in order. */
export type CarBody = readonly [Vec, Vec, Vec, Vec];

/**
 * A car at places along a run, both truck centres on the centre line. Where the trucks stand on different curves the
 * body lies as it really would, so transitions need no formula; on one curve it agrees with the exact overhang.
 * @param everyMm distance between two places of the leading truck
 */
export function sweepCar(line: TrackLine, car: Car, everyMm: number): CarBody[] {
  const path = pathOf(line);
  const totalMm = path.lengths.reduce((a, b) => a + b, 0);
  const bodies: CarBody[] = [];
  if (totalMm < car.truckCentresMm) return bodies;
  const lastMm = line.closed ? totalMm : totalMm;
  for (let atMm = 0; atMm < lastMm; atMm += everyMm) {
    const front = trailingTruck(path, totalMm, line.closed, atMm, car.truckCentresMm);
    if (front === null) break;
    bodies.push(bodyOf(pointAt(path, totalMm, atMm), front, car));
  }
  return bodies;
}

interface Path {
  readonly strokes: readonly Stroke[];
  readonly lengths: readonly number[];
}

/** The run's strokes with the gaps between them bridged straight. */
function pathOf(line: TrackLine): Path {
  const strokes: Stroke[] = [];
  for (const [i, stroke] of line.strokes.entries()) {
    strokes.push(stroke);
    const next = line.strokes[i + 1] ?? (line.closed ? line.strokes[0] : undefined);
    const end = strokeEnd(stroke);
    if (next && distance(end, next.from) > 1e-6) strokes.push({ kind: 'line', from: end, to: next.from });
  }
  return { strokes, lengths: strokes.map(strokeLength) };
}

function pointAt(path: Path, totalMm: number, atMm: number): Vec {
  let left = ((atMm % totalMm) + totalMm) % totalMm;
  for (const [i, stroke] of path.strokes.entries()) {
    if (left <= path.lengths[i]) return placeOn(stroke, path.lengths[i] > 0 ? left / path.lengths[i] : 0).at;
    left -= path.lengths[i];
  }
  return strokeEnd(path.strokes[path.strokes.length - 1]);
}

/** Place on the track at a straight distance from the truck at `atMm`, further along: bisection on the way along it. */
function trailingTruck(path: Path, totalMm: number, closed: boolean, atMm: number, apartMm: number): Vec | null {
  const from = pointAt(path, totalMm, atMm);
  const reaches = (furtherMm: number) => distance(from, pointAt(path, totalMm, atMm + furtherMm)) >= apartMm;
  let high = apartMm;
  while (!reaches(high)) {
    high += apartMm * 0.05;
    if (high > Math.min(totalMm, apartMm * Math.PI) || (!closed && atMm + high > totalMm)) return null;
  }
  if (!closed && atMm + high > totalMm) return null;
  let low = Math.max(0, high - apartMm * 0.05);
  if (reaches(low)) return pointAt(path, totalMm, atMm + low);
  for (let i = 0; i < 40; i++) {
    const middle = (low + high) / 2;
    if (reaches(middle)) high = middle;
    else low = middle;
  }
  return pointAt(path, totalMm, atMm + high);
}

function bodyOf(rear: Vec, front: Vec, car: Car): CarBody {
  const way = subtract(front, rear);
  const along = scale(way, 1 / Math.hypot(...way));
  const middle = scale(add(rear, front), 0.5);
  const half = scale(along, car.lengthMm / 2);
  const side = scale(leftOf(along), car.widthMm / 2);
  return [
    add(add(middle, half), side),
    subtract(add(middle, half), side),
    subtract(subtract(middle, half), side),
    add(subtract(middle, half), side),
  ];
}
