import type { MeasuredPiece } from '../../scene/measured-layout.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import { type Arc, pointOnArc } from '../../scene/track-observation.js';
import { outerHeadOffsetMm } from '../../scene/track-profile.js';
import { RowWriter, type View } from './camera-part.js';
import { railAxisMm } from './clearance-row.js';
import { type Information, observe, without } from './information.js';

/** One place of so many is looked at, and counts for all: the information of a line changes slowly along it. */
const everyOf = 8;

/** Adds what a view's points of the table sides say of the view and of the sides. */
export function observeSides(into: Information, solved: SolvedTable, view: View): void {
  const writer = new RowWriter(view);
  const { index, derivative } = writer;
  const stepMm = solved.quality.edgeStepMm * everyOf;
  solved.sides.forEach((side, i) => {
    const at = solved.layout.side[i];
    for (let s = side.fromS + stepMm / 2; s < side.toS; s += stepMm) {
      const { x, y } = pointOnArc(side.arc, s);
      if (!writer.project(x, y, 0)) continue;
      const [nx, ny] = acrossInPhoto(writer, side.arc.headingRad);
      const { entries, by } = writer.camera(nx, ny, 1 / solved.quality.edgeSigmaPx);
      index.set([at, at + 1, at + 2], entries);
      derivative.set([by[0], by[1], -by[0] * (y - side.arc.y) + by[1] * (x - side.arc.x)], entries);
      observe(into, index, derivative, entries + 3, everyOf);
    }
  });
}

/**
 * Adds what the rails say of a view: each piece of track is an arc of its own there, which may lie anywhere. Worked out
 * among the few unknowns that rails hang on, then put in their places.
 */
export function observeTrack(into: Information, solved: SolvedTable, view: View): void {
  const { gaugeScale, railTop } = solved.layout;
  const places = [...ownOf(7, view.lensAt), ...ownOf(6, view.poseAt), gaugeScale, railTop];
  const few: View = { ...view, lensAt: 0, poseAt: 7 };
  for (const run of solved.runs)
    for (const piece of run.pieces) {
      if (!piece.seen) continue;
      const local = piece.straight ? 3 : 4;
      const count = places.length + local;
      const own: Information = { matrix: new Float64Array(count * count), count };
      if (observePiece(own, solved, few, piece, local) === 0) continue;
      const { matrix } = without(own, local);
      places.forEach((i, a) => {
        for (let b = 0; b < places.length; b++)
          into.matrix[i * into.count + places[b]] += matrix[a * places.length + b];
      });
    }
}

function ownOf(count: number, from: number): number[] {
  return Array.from({ length: count }, (_, k) => from + k);
}

/** Rails of one piece; returns how many places of it the view shows. */
function observePiece(into: Information, solved: SolvedTable, view: View, piece: MeasuredPiece, local: number): number {
  const writer = new RowWriter(view);
  const { index, derivative } = writer;
  const { quality, track } = solved;
  const { arc } = piece;
  const at = into.count - local;
  const [gauge, railTop] = [at - 2, at - 1];
  const stepMm = quality.railStepMm * everyOf;
  const z = railAxisMm(solved);
  let places = 0;
  for (let s = piece.fromS + stepMm / 2; s < piece.toS; s += stepMm)
    for (const rail of [-1, 0, 1]) {
      const offset = rail * outerHeadOffsetMm(track);
      const p = pointOnArc(arc, s, offset);
      if (!writer.project(p.x, p.y, z)) continue;
      places++;
      const [nx, ny, pxPerMm] = acrossInPhoto(writer, p.headingRad);
      const { entries, by } = writer.camera(nx, ny, 1 / (quality.railSigmaMm * pxPerMm));
      const sideways = -by[0] * Math.sin(p.headingRad) + by[1] * Math.cos(p.headingRad);
      index.set([gauge, railTop, at, at + 1, at + 2], entries);
      derivative.set([offset * sideways, by[2], by[0], by[1], -by[0] * (p.y - arc.y) + by[1] * (p.x - arc.x)], entries);
      if (!piece.straight) {
        index[entries + 5] = at + 3;
        derivative[entries + 5] = byCurvature(arc, s, offset, by);
      }
      observe(into, index, derivative, entries + 5 + (piece.straight ? 0 : 1), everyOf);
    }
  // The same weak hold as in the adjustment keeps a piece of few places from having no inverse.
  const weak = [1 / 50, 1 / 50, 2, 500];
  for (let k = 0; k < local; k++) observe(into, [at + k], [weak[k]], 1);
  return places;
}

function byCurvature(arc: Arc, s: number, offset: number, by: readonly number[]): number {
  const h = 1e-7;
  const a = pointOnArc(arc, s, offset);
  const b = pointOnArc({ ...arc, curvaturePerMm: arc.curvaturePerMm + h }, s, offset);
  return (by[0] * (b.x - a.x) + by[1] * (b.y - a.y)) / h;
}

/** Square to a line's picture, with the pixels of a millimetre across it; from the point projected last. */
function acrossInPhoto({ q }: RowWriter, headingRad: number): [number, number, number] {
  const c = Math.cos(headingRad);
  const s = Math.sin(headingRad);
  const tu = q.byPoint[0] * c + q.byPoint[1] * s;
  const tv = q.byPoint[3] * c + q.byPoint[4] * s;
  const length = Math.hypot(tu, tv);
  const [nx, ny] = [-tv / length, tu / length];
  const across = nx * (-q.byPoint[0] * s + q.byPoint[1] * c) + ny * (-q.byPoint[3] * s + q.byPoint[4] * c);
  return [nx, ny, Math.abs(across)];
}
