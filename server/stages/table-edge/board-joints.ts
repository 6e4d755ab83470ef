import type { Raster } from '../../images/raster.js';
import { parabolaSize, putParabola, sampleParabola } from '../../images/sample-parabola.js';
import { middleInPlace, middleOf, sigmaOfMiddle } from '../../linalg/middle.js';
import { alongMm, type EdgeCurve, placesOn } from './edge-places.js';
import type { LineProjector } from './table-lines.js';

/** Photo pixels between the places at which the table top is looked at across the side. */
const spacingPx = 12;
const fewestPlaces = 16;
/** Stretches of the side of which all but one must show a joint. */
const stretches = 6;
/** What is looked at, millimetres inside the side: as far as four boards reach (common practice, no source). */
const fromMm = 10;
const toMm = 622;
const stepMm = 0.4;
/** Over so much a straight line is a parabola in the photo. */
const pieceMm = 68;
/** A joint is darker than the boards this far to both sides of it. */
const besideFromMm = 1.6;
const besideToMm = 4.4;
/** Joints may run aside from the curve by this much. */
const asideMm = 1.2;
/** Least depth over the scatter of its stretch, and least depth of all, shares of the boards' light. */
const leastClearness = 4;
const leastDepth = 0.015;
/** Scatter below this is not believed. */
const leastScatter = 0.004;
/** Nothing as narrow as this is a board; two rails are nearer to each other. Common practice, no source. */
const narrowestMm = 40;
/** Between the side and the first of two joints that show there are no more boards: others may lie beside rails. */
const mostBoards = 3;
/** Boards of one width differ by as much (common practice, no source), and joints are as deep as each other up to a factor. */
const unevenMm = 2;
const depthFactor = 2.5;

/** A dark line along the side. */
interface DarkLine {
  readonly insideMm: number;
  readonly depth: number;
}

/**
 * Finds the joints between boards that run along a side: thin dark lines inside of it, one board's width apart, of
 * whose row the next would lie on the side itself. Null where there are none, or none would lie there.
 * @returns how dark they are: the width of a strip without light that takes as much light as one of them, millimetres
 */
export function darkMmOfJointsAlong(raster: Raster, projector: LineProjector, curve: EdgeCurve): number | null {
  const places = placesOn(projector, curve, spacingPx, 8).flatMap((place) => {
    const on = projector.project(curve.line, place.along * alongMm, 0);
    // The curve lies a little beside its line.
    return on ? [{ along: place.along, besideX: place.x - on.x, besideY: place.y - on.y }] : [];
  });
  if (places.length < fewestPlaces) return null;
  const rows: Float32Array[] = [];
  const parts: StretchLook[] = [];
  for (let k = 0; k < stretches; k++) {
    const to = Math.floor(((k + 1) * places.length) / stretches);
    const some = places.slice(rows.length, to).map((place) => rowAcross(raster, projector, curve, place));
    rows.push(...some);
    parts.push(lookOfStretch(middleRow(some.map(darkening))));
    if (parts.length >= 2 && !mayBeBoards(parts)) return null;
  }
  const lines = darkLines(parts);
  for (const first of lines)
    for (const second of lines) {
      const boards = boardsBefore(first.insideMm, second.insideMm);
      if (boards === null) continue;
      const factor = first.depth / second.depth;
      if (factor > depthFactor || factor < 1 / depthFactor) continue;
      const widthMm = second.insideMm - first.insideMm;
      // One of them may lie beside a rail.
      const joints = lines.filter(({ insideMm }) => {
        const before = Math.max(1, Math.round(insideMm / widthMm));
        return Math.abs(insideMm - before * widthMm) <= unevenMm;
      });
      return middleOf(Float64Array.from(joints, ({ insideMm }) => darkMmAt(rows, insideMm)));
    }
  return null;
}

/** How many boards there are up to the first of two neighbouring joints, were these joints of the row; null where they are none. */
function boardsBefore(firstMm: number, secondMm: number): number | null {
  const widthMm = secondMm - firstMm;
  const boards = Math.round(firstMm / widthMm);
  if (widthMm < narrowestMm || boards < 1 || boards > mostBoards) return null;
  return Math.abs(firstMm - boards * widthMm) > unevenMm ? null : boards;
}

/** What one stretch of the side shows across it. */
interface StretchLook {
  /** Middle darkening of each place; NaN where it is not seen. */
  readonly depth: Float64Array;
  /** The deepest nearby over the stretch's scatter; NaN where it is not seen. */
  readonly clearness: Float64Array;
}

function lookOfStretch(depth: Float64Array): StretchLook {
  const seen = depth.filter((v) => !Number.isNaN(v)).map(Math.abs);
  const scatter = Math.max(leastScatter, sigmaOfMiddle * middleOf(seen));
  const aside = Math.round(asideMm / stepMm);
  const clearness = new Float64Array(depth.length).fill(Number.NaN);
  for (let i = aside; i < depth.length - aside; i++) {
    let most = depth[i - aside];
    for (let k = i - aside + 1; k <= i + aside; k++) most = Math.max(most, depth[k]);
    clearness[i] = most / scatter;
  }
  return { depth, clearness };
}

/** Whether two joints may come of it whatever the stretches show that were not looked at yet: all but one show each joint. */
function mayBeBoards(parts: readonly StretchLook[]): boolean {
  const places: number[] = [];
  for (let i = 0; i < parts[0].depth.length; i++) {
    let unclear = 0;
    for (const { clearness } of parts) if (clearness[i] < leastClearness) unclear++;
    if (unclear < 2) places.push(fromMm + i * stepMm);
  }
  return places.some((first) => places.some((second) => boardsBefore(first, second) !== null));
}

/** A place on the line of a curve, and how far the curve lies beside it there, photo pixels. */
interface PlaceBeside {
  readonly along: number;
  readonly besideX: number;
  readonly besideY: number;
}

/** Light across the side at a place along it, from `fromMm` inside on; NaN outside the picture. */
function rowAcross(raster: Raster, projector: LineProjector, curve: EdgeCurve, place: PlaceBeside): Float32Array {
  const pieces = Math.round((toMm - fromMm) / pieceMm);
  const inPiece = Math.round(pieceMm / stepMm);
  const parabola = new Float64Array(parabolaSize);
  const row = new Float32Array(pieces * inPiece + 1).fill(Number.NaN);
  const inside = (k: number) => projector.project(curve.line, place.along * alongMm, -(fromMm + k * pieceMm));
  let b = inside(0);
  for (let k = 0; k < pieces; k++) {
    const a = b;
    const m = inside(k + 0.5);
    b = inside(k + 1);
    if (!a || !m || !b) continue;
    putParabola(a, m, b, parabola, 0);
    parabola[0] += place.besideX;
    parabola[1] += place.besideY;
    sampleParabola(raster, parabola, inPiece + 1, row, k * inPiece);
  }
  return row;
}

/** By how much each place of a row is darker than the darker one of both sides, as a share of that. */
function darkening(row: Float32Array): Float64Array {
  const near = Math.round(besideFromMm / stepMm);
  const far = Math.round(besideToMm / stepMm);
  const out = new Float64Array(row.length).fill(Number.NaN);
  for (let i = far; i < row.length - far; i++) {
    let before = 0;
    let after = 0;
    for (let k = near; k <= far; k++) {
      before += row[i - k];
      after += row[i + k];
    }
    const beside = Math.min(before, after) / (far - near + 1);
    out[i] = 1 - row[i] / Math.max(0.002, beside);
  }
  return out;
}

/** Middle value of each place over rows, NaN where most are; the whole row's own middle is taken off. */
function middleRow(rows: readonly Float64Array[]): Float64Array {
  const seen = new Float64Array(rows.length);
  const out = new Float64Array(rows[0].length);
  for (let i = 0; i < out.length; i++) {
    let count = 0;
    for (const row of rows) if (!Number.isNaN(row[i])) seen[count++] = row[i];
    out[i] = count > rows.length / 2 ? middleInPlace(seen.subarray(0, count)) : Number.NaN;
  }
  const usual = middleOf(out.filter((v) => !Number.isNaN(v)));
  return out.map((v) => v - usual);
}

/** Lines that all stretches but one show, the nearest to the side first. */
function darkLines(parts: readonly StretchLook[]): DarkLine[] {
  const count = parts[0].depth.length;
  const clearness = new Float64Array(count);
  const depth = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const seen = parts.map((part) => part.clearness[i]).filter((v) => !Number.isNaN(v));
    if (seen.length < stretches - 2) continue;
    clearness[i] = seen.sort((a, b) => a - b)[1];
    depth[i] = middleOf(Float64Array.from(parts, (part) => part.depth[i]).filter((v) => !Number.isNaN(v)));
  }
  const apart = Math.round(besideToMm / stepMm);
  const lines: DarkLine[] = [];
  for (let i = 0; i < count; i++) {
    if (clearness[i] < leastClearness || depth[i] < leastDepth) continue;
    let isDeepest = true;
    for (let k = Math.max(0, i - apart); k <= Math.min(count - 1, i + apart); k++)
      if (depth[k] > depth[i] || (depth[k] === depth[i] && k < i)) isDeepest = false;
    if (isDeepest) lines.push({ insideMm: fromMm + i * stepMm, depth: depth[i] });
  }
  return lines;
}

/** Light that a line takes, as the width of a strip without any: the middle of what the rows show. */
function darkMmAt(rows: readonly Float32Array[], insideMm: number): number {
  const middle = Math.round((insideMm - fromMm) / stepMm);
  const half = Math.round(besideToMm / stepMm);
  const near = Math.round((besideFromMm + asideMm) / stepMm);
  const widths = rows.flatMap((row) => {
    let before = 0;
    let after = 0;
    for (let k = near; k <= half; k++) {
      before += row[middle - k] / (half - near + 1);
      after += row[middle + k] / (half - near + 1);
    }
    let sum = 0;
    for (let k = -near; k <= near; k++) {
      const beside = before + ((k + near) / (2 * near)) * (after - before);
      sum += (1 - row[middle + k] / beside) * stepMm;
    }
    return Number.isNaN(sum) ? [] : [sum];
  });
  return Math.max(0, middleOf(Float64Array.from(widths)));
}
