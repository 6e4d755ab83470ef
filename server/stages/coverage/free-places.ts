import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { outsideFaceOffsetMm } from '../../scene/track-profile.js';
import { footOn } from './clearance-row.js';
import { depthOf } from './standing-places.js';

/** Room left beside a sheet. */
const besideMm = 20;
/** Steps in which free places for a marker are looked for. */
const markerStepMm = 150;

/** Places on the table where a sheet lies flat: inside the sides, clear of track, of other sheets, and whole in a photo. */
export function freePlaces(
  solved: SolvedTable,
  onTable: (x: number, y: number) => boolean,
): { x: number; y: number }[] {
  const { sides, markers, markerSideMm } = solved;
  const half = 0.75 * markerSideMm;
  const track = solved.runs.flatMap((run) =>
    run.pieces.flatMap(({ arc, fromS, toS }) => {
      const count = Math.max(1, Math.ceil((toS - fromS) / 40));
      return Array.from({ length: count + 1 }, (_, i) => pointOnArc(arc, fromS + (i / count) * (toS - fromS)));
    }),
  );
  const clearMm = half + outsideFaceOffsetMm(solved.track) + besideMm;
  const [first] = sides;
  if (!first) return [];
  const ends = sides.flatMap((s) => [pointOnArc(s.arc, s.fromS), pointOnArc(s.arc, s.toS)]);
  const along = ends.map((p) => footOn(first, p.x, p.y));
  const sRange = [Math.min(...along.map((p) => p.s)), Math.max(...along.map((p) => p.s))];
  const depth = Math.max(depthOf(solved, first), ...along.map((p) => p.distanceMm));
  const out: { x: number; y: number }[] = [];
  // Beginning and ending as near to the edges as a sheet lies.
  for (const s of evenly(sRange[0] + half, sRange[1] - half))
    for (const d of evenly(half, depth - half)) {
      const { x, y } = pointOnArc(first.arc, s, d);
      const clear = sides.every((side) => {
        const foot = footOn(side, x, y);
        return foot.s < side.fromS || foot.s > side.toS || foot.distanceMm >= half - 1;
      });
      if (!onTable(x, y) || !clear || track.some((p) => Math.hypot(p.x - x, p.y - y) < clearMm)) continue;
      if (markers.some((m) => Math.hypot(m.x - x, m.y - y) < 2 * half + besideMm)) continue;
      out.push({ x, y });
    }
  return out;
}

function evenly(from: number, to: number): number[] {
  const count = Math.max(1, Math.round((to - from) / markerStepMm));
  return to < from ? [] : Array.from({ length: count + 1 }, (_, i) => from + (i / count) * (to - from));
}
