import type { RailTrace } from '../scene/rail-trace.js';
import type { SideArc } from './adjust-table.js';

/** Track lies outside a side that is so far inside of it, at so many samples: more than cameras err that are not yet solved. */
const outsideMm = 25;
const leastOutside = 5;
/** A table has one side that looks a certain way, give or take this. */
const sameWayRad = 0.5;

/**
 * Leaves out what cannot be a side of the table that all photos show: what has track on the wrong side of it, as a photo of
 * a part of the table does not show what lies beyond what it takes for an edge; and of two that look the same way the one
 * that is less sure. What a person drew stays.
 * @param traces of all photos, in the table frame of the sides
 */
export function sidesAroundTrack(sides: readonly SideArc[], traces: readonly RailTrace[]): SideArc[] {
  const seen = traces.flatMap(({ samples }) => samples.filter((s) => s.sidewaysMm.some((mm) => !Number.isNaN(mm))));
  const around = sides.filter((side) => isDrawn(side) || outside(side, seen) < leastOutside);
  return around.filter((side) => {
    const others = around.filter((other) => other !== side && looksAlike(side, other));
    return isDrawn(side) || others.every((other) => !isDrawn(other) && sureness(other) <= sureness(side));
  });
}

const isDrawn = (side: SideArc): boolean => side.place !== undefined;

/** How many places lie on the side's right, where the floor is. */
function outside({ arc }: SideArc, places: readonly { readonly x: number; readonly y: number }[]): number {
  const [c, s] = [Math.cos(arc.headingRad), Math.sin(arc.headingRad)];
  return places.filter(({ x, y }) => (x - arc.x) * s - (y - arc.y) * c > outsideMm).length;
}

function looksAlike(a: SideArc, b: SideArc): boolean {
  return Math.cos(a.arc.headingRad - b.arc.headingRad) > Math.cos(sameWayRad);
}

function sureness({ seen }: SideArc): number {
  return seen.reduce((sum, { side }) => sum + side.points.length * side.certainty, 0);
}
