import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { clearanceU, readPlace } from './sureness.js';
import type { TableArea } from './table-area.js';

/** Cells in rows: corner of the first one and directions in the table frame. */
export interface CoverageGrid {
  readonly originX: number;
  readonly originY: number;
  readonly turnRad: number;
  /** Width and height of a cell. */
  readonly cellMm: readonly [number, number];
  readonly columns: number;
  readonly rows: number;
}

export interface Cells {
  readonly values: (number | 'not-seen' | 'covered' | null)[];
  /** Middles of cells of the table top that no photo shows. */
  readonly unseen: readonly { readonly x: number; readonly y: number }[];
  /** How many cells are of the table top. */
  readonly onTable: number;
}

/** Every cell's standard uncertainty of a clearance read in its middle. */
export function cellsOf(solved: SolvedTable, area: TableArea, grid: CoverageGrid, modelUMm: number): Cells {
  const { columns, rows, cellMm } = grid;
  const covered = coveredCells(solved, grid);
  const values: Cells['values'] = [];
  const unseen: { x: number; y: number }[] = [];
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const p = inTable(grid, (column + 0.5) * cellMm[0], (row + 0.5) * cellMm[1]);
      const place = area.contains(p.x, p.y) ? readPlace(solved, p.x, p.y) : null;
      if (!place) {
        values.push(null);
        continue;
      }
      const u = clearanceU(place, solved.primary, solved.covariance, solved.layout.count, modelUMm);
      if (u === null) unseen.push(p);
      values.push(u === null ? 'not-seen' : covered.has(values.length) ? 'covered' : u);
    }
  return { values, unseen, onTable: values.filter((v) => v !== null).length };
}

function inTable({ originX, originY, turnRad }: CoverageGrid, x: number, y: number): { x: number; y: number } {
  const c = Math.cos(turnRad);
  const s = Math.sin(turnRad);
  return { x: originX + c * x - s * y, y: originY + s * x + c * y };
}

/** Cells through which track runs that no photo shows. */
function coveredCells(solved: SolvedTable, grid: CoverageGrid): Set<number> {
  const out = new Set<number>();
  const c = Math.cos(grid.turnRad);
  const s = Math.sin(grid.turnRad);
  for (const run of solved.runs)
    for (const { arc, seen, fromS, toS } of run.pieces) {
      if (seen) continue;
      const count = Math.max(1, Math.ceil((toS - fromS) / (Math.min(...grid.cellMm) / 4)));
      for (let i = 0; i <= count; i++) {
        const p = pointOnArc(arc, fromS + (i / count) * (toS - fromS));
        const [dx, dy] = [p.x - grid.originX, p.y - grid.originY];
        const column = Math.floor((c * dx + s * dy) / grid.cellMm[0]);
        const row = Math.floor((-s * dx + c * dy) / grid.cellMm[1]);
        if (column >= 0 && row >= 0 && column < grid.columns && row < grid.rows) out.add(row * grid.columns + column);
      }
    }
  return out;
}
