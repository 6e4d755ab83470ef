import type { Report } from '../contract/report.js';
import { cross, distance, dot, leftOf, scale, subtract, type Vec } from './plane-vectors.js';

/** A side of the table with what is needed to measure square to it. Table frame, millimetres. */
export interface Side {
  readonly name: string;
  readonly from: Vec;
  readonly to: Vec;
  readonly lengthMm: number;
  /** Unit vector from `from` to `to`. */
  readonly along: Vec;
  /** Unit vector square to the side, towards the table. */
  readonly inward: Vec;
  /** True when every place on the table has its foot on this side: no wish about it needs a choice. */
  readonly facesAll: boolean;
  /** How far beyond the side track still counts as overhanging this side: less where another part of the table is near. */
  readonly beyondMm: number;
}

export interface TableShape {
  readonly outline: readonly Vec[];
  readonly sides: readonly Side[];
  readonly convex: boolean;
}

const beyondAtMostMm = 300;

export function tableShape(report: Report): TableShape {
  const outline = report.table.outline;
  const convex = isConvex(outline);
  const sides = report.table.sides
    .filter((s) => distance(s.from, s.to) > 0)
    .map((s): Side => {
      const lengthMm = distance(s.from, s.to);
      const along = scale(subtract(s.to, s.from), 1 / lengthMm);
      const middle: Vec = [(s.from[0] + s.to[0]) / 2, (s.from[1] + s.to[1]) / 2];
      const left = leftOf(along);
      const probe = (sign: number): Vec => [middle[0] + sign * left[0], middle[1] + sign * left[1]];
      const inward = insideOutline(outline, probe(1)) || !insideOutline(outline, probe(-1)) ? left : scale(left, -1);
      const feet = outline.map((p) => dot(subtract(p, s.from), along));
      const facesAll = convex && feet.every((foot) => foot > -1 && foot < lengthMm + 1);
      const base = { name: s.name, from: s.from, to: s.to, lengthMm, along, inward, facesAll };
      return { ...base, beyondMm: convex ? Infinity : roomBeyond(outline, base) };
    });
  return { outline, sides, convex };
}

/** Is the point on the table? Counts crossings of a ray; points on the outline may fall either way. */
export function insideOutline(outline: readonly Vec[], point: Vec): boolean {
  let inside = false;
  for (let i = 0, j = outline.length - 1; i < outline.length; j = i++) {
    const [xi, yi] = outline[i];
    const [xj, yj] = outline[j];
    if (yi > point[1] !== yj > point[1] && point[0] < ((xj - xi) * (point[1] - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

function isConvex(outline: readonly Vec[]): boolean {
  const count = outline.length;
  let sign = 0;
  for (let i = 0; i < count; i++) {
    const a = subtract(outline[(i + 1) % count], outline[i]);
    const b = subtract(outline[(i + 2) % count], outline[(i + 1) % count]);
    const bend = cross(a, b);
    if (Math.abs(bend) < 1e-9 * Math.hypot(...a) * Math.hypot(...b)) continue;
    if (sign !== 0 && Math.sign(bend) !== sign) return false;
    sign = Math.sign(bend);
  }
  return true;
}

/** Half the way from the side, straight outwards, to the next part of the table (an inside corner makes one). */
function roomBeyond(outline: readonly Vec[], side: Pick<Side, 'from' | 'along' | 'inward' | 'lengthMm'>): number {
  let nearestMm = 2 * beyondAtMostMm;
  const steps = 24;
  for (let i = 0; i <= steps; i++) {
    const ratio = 0.01 + (0.98 * i) / steps;
    const at: Vec = [
      side.from[0] + side.along[0] * side.lengthMm * ratio,
      side.from[1] + side.along[1] * side.lengthMm * ratio,
    ];
    nearestMm = Math.min(nearestMm, hitAlong(outline, at, scale(side.inward, -1), 1));
  }
  return nearestMm / 2;
}

/** Distance along a ray to the outline, leaving out hits nearer than `skipMm`; Infinity when there is none. */
export function hitAlong(outline: readonly Vec[], from: Vec, heading: Vec, skipMm: number): number {
  let nearest = Infinity;
  for (let i = 0; i < outline.length; i++) {
    const a = outline[i];
    const edge = subtract(outline[(i + 1) % outline.length], a);
    const bend = cross(heading, edge);
    if (Math.abs(bend) < 1e-12) continue;
    const offset = subtract(a, from);
    const far = cross(offset, edge) / bend;
    const share = cross(offset, heading) / bend;
    if (far > skipMm && share >= 0 && share <= 1) nearest = Math.min(nearest, far);
  }
  return nearest;
}
