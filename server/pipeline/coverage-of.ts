import type { Coverage } from '../contract/coverage.js';
import type { SolvedTable } from '../scene/solved-table.js';
import { pointOnArc } from '../scene/track-observation.js';
import { coverTable } from '../stages/coverage/cover-table.js';
import { type FaceDistance, modelUMm } from '../stages/measurements/distances.js';
import { sideLengthU } from './side-lengths.js';
import type { TableShift } from './write-report.js';

/** About so wide; cells divide the table evenly. */
const usualCellMm = 50;
/** Where no outline bounds the table, what lies this far beyond side ends and track is no longer asked for. */
const beyondMm = 100;
/** No table has so many cells along a side: something else went wrong. */
const mostCells = 200;

/**
 * The coverage picture in the report's table frame; undefined where no table edge was found, so that there are no
 * clearances to be sure of. Costs some hundredths of a second.
 */
export function coverageOf(
  solved: SolvedTable | null,
  shift: TableShift,
  clearances: readonly FaceDistance[],
): Coverage | undefined {
  if (!solved || solved.sides.length === 0) return undefined;
  const c = Math.cos(shift.turnRad);
  const s = Math.sin(shift.turnRad);
  const move = (x: number, y: number): [number, number] => {
    const dx = x - shift.originX;
    const dy = y - shift.originY;
    return [rounded(c * dx - s * dy, 1), rounded(s * dx + c * dy, 1)];
  };
  const box = boxOf(solved, move);
  const [columns, rows] = [box.right - box.left, box.top - box.bottom].map((mm) =>
    Math.min(mostCells, Math.max(1, Math.round(mm / usualCellMm))),
  );
  const cellMm = [(box.right - box.left) / columns, (box.top - box.bottom) / rows] as const;
  const covered = coverTable(solved, {
    grid: {
      originX: shift.originX + c * box.left + s * box.bottom,
      originY: shift.originY - s * box.left + c * box.bottom,
      turnRad: -shift.turnRad,
      cellMm,
      columns,
      rows,
    },
    modelUMm,
    sideLengthsU: (covarianceOf) =>
      solved.sides.map((side, i) =>
        side.fromCorner && side.toCorner ? sideLengthU(solved.sides, i, covarianceOf) : null,
      ),
  });
  const { leastSure } = covered;
  return {
    cellMm: [rounded(cellMm[0], 3), rounded(cellMm[1], 3)],
    origin: [rounded(box.left, 1), rounded(box.bottom, 1)],
    columns,
    rows,
    cells: covered.cells.map((v) => (typeof v === 'number' ? rounded(v, 3) : v)),
    openEnds: covered.openEnds.map((end) => ({ ...end })),
    leastSure: leastSure && {
      what: leastSure.what,
      near: leastSure.near,
      u: rounded(leastSure.u, 3),
      ...(leastSure.at ? { at: move(...leastSure.at) } : {}),
    },
    listed: leastSureOf(clearances),
    helps: covered.helps.map((h) => ({
      kind: h.kind,
      near: h.near,
      inwards: h.inwards,
      at: move(...h.at),
      ...(h.heightMm === undefined ? {} : { heightMm: Math.round(h.heightMm) }),
      ...(h.markers ? { markers: [...h.markers] } : {}),
      thenU: rounded(h.thenU, 3),
      ...(h.showsMore === undefined ? {} : { showsMore: rounded(h.showsMore, 3) }),
    })),
  };
}

function leastSureOf(clearances: readonly FaceDistance[]): Coverage['listed'] {
  const [first, ...rest] = clearances;
  if (!first) return null;
  const worst = rest.reduce((a, b) => (b.distance.u > a.distance.u ? b : a), first);
  return { side: worst.side, u: rounded(worst.distance.u, 3) };
}

interface Box {
  readonly left: number;
  readonly right: number;
  readonly bottom: number;
  readonly top: number;
}

/** Around the corners where all are known, else around side ends and track; report frame. */
function boxOf(solved: SolvedTable, move: (x: number, y: number) => [number, number]): Box {
  const ends = solved.sides.flatMap((side) => [pointOnArc(side.arc, side.fromS), pointOnArc(side.arc, side.toS)]);
  const whole = solved.sides.every((side) => side.fromCorner && side.toCorner);
  const track = whole ? [] : solved.runs.flatMap((run) => run.pieces.map((p) => pointOnArc(p.arc, p.toS)));
  const points = [...ends, ...track].map((p) => move(p.x, p.y));
  const room = whole ? 0 : beyondMm;
  return {
    left: Math.min(...points.map((p) => p[0])) - room,
    right: Math.max(...points.map((p) => p[0])) + room,
    bottom: Math.min(...points.map((p) => p[1])) - room,
    top: Math.max(...points.map((p) => p[1])) + room,
  };
}

function rounded(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}
