import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { type CoverageGrid, cellsOf } from './coverage-cells.js';
import { bestOf, type Help, isUnsure, type NearSide, nearOf, tryMarkers, tryPhotos } from './helps.js';
import {
  type LengthKind,
  placesOnTrack,
  type ReadPlace,
  type SideLengthsU,
  type Sureness,
  surenessOf,
} from './sureness.js';
import { tableArea } from './table-area.js';
import { informationOf } from './what-if.js';

export interface CoverTableOptions {
  readonly grid: CoverageGrid;
  /** What an edge of a rail head or of a table may be off its true place for want of a perfect model. */
  readonly modelUMm: number;
  readonly sideLengthsU: SideLengthsU;
}

export interface TableCoverage {
  /** Row by row: standard uncertainty of a clearance read there; see `server/contract/coverage.ts`. */
  readonly cells: readonly (number | 'not-seen' | 'covered' | null)[];
  readonly leastSure: {
    readonly what: 'clearance' | 'side';
    readonly near: NearSide;
    readonly u: number;
    readonly at?: readonly [number, number];
  } | null;
  /** Ends of sides whose corner was not seen, with the marker nearest to each. */
  readonly openEnds: readonly (NearSide & { readonly marker: number })[];
  /** Best first; empty where nothing would help much. */
  readonly helps: readonly Help[];
}

/** Along the track a clearance changes its uncertainty slowly. */
const trackStepMm = 60;

/**
 * Where on the table a clearance is good to what, and which one photo or marker more would help most. Everything comes
 * from the covariance of the solved table: cells by propagation (JCGM 100:2008, 5.2.2), helps by adding to the normal
 * equations what they would show. No picture is looked at. Clearances count first; where nothing makes them much surer,
 * the lengths of the sides.
 */
export function coverTable(solved: SolvedTable, options: CoverTableOptions): TableCoverage {
  const area = tableArea(solved);
  const cells = cellsOf(solved, area, options.grid, options.modelUMm);
  const places = placesOnTrack(solved, trackStepMm);
  const now = surenessOf(places, solved, solved.covariance, options.modelUMm, options.sideLengthsU);
  const common = { cells: cells.values, openEnds: openEndsOf(solved) };
  const { modelUMm, sideLengthsU } = options;
  const wanted = { places, modelUMm, sideLengthsU, unseen: area.whole ? cells.unseen : [], onTable: cells.onTable };
  const kinds = (['clearance', 'side'] as const).filter((kind) => isUnsure(kind, now.worst(kind)));
  const known = kinds.length > 0 || wanted.unseen.length > 0 ? informationOf(solved) : null;
  const trials = known ? [...tryMarkers(solved, area, wanted), ...tryPhotos(solved, known, wanted)] : [];
  for (const kind of kinds.length > 0 ? kinds : (['clearance'] as const)) {
    const helps = bestOf(trials, kind, now.worst(kind));
    if (helps.length > 0) return { ...common, leastSure: leastSureOf(solved, places, now, kind), helps };
  }
  const kind = now.worst('clearance') ? 'clearance' : 'side';
  return { ...common, leastSure: leastSureOf(solved, places, now, kind), helps: [] };
}

function openEndsOf({ sides, markers }: SolvedTable): TableCoverage['openEnds'] {
  return sides.flatMap((side) => {
    const ends = [
      ...(side.fromCorner ? [] : [{ part: 'left' as const, s: side.fromS }]),
      ...(side.toCorner ? [] : [{ part: 'right' as const, s: side.toS }]),
    ];
    return ends.map(({ part, s }) => {
      const p = pointOnArc(side.arc, s);
      const away = (m: { x: number; y: number }): number => Math.hypot(m.x - p.x, m.y - p.y);
      return { side: side.name, part, marker: markers.reduce((a, b) => (away(b) < away(a) ? b : a)).id };
    });
  });
}

function leastSureOf(
  solved: SolvedTable,
  places: readonly ReadPlace[],
  now: Sureness,
  what: LengthKind,
): TableCoverage['leastSure'] {
  const worst = now.worst(what);
  if (!worst) return null;
  const { u, index } = worst;
  if (what === 'side') return { what, u, near: { side: solved.sides[index].name, part: 'middle' } };
  const { x, y, side } = places[index];
  return { what, u, near: nearOf(solved, side, x, y), at: [x, y] };
}
