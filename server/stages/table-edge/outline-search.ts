import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { type TablePoint, tablePoint } from '../../geometry/frames.js';
import type { Raster } from '../../images/raster.js';
import { chooseOutline, type OutlineSide, type WeighedPath, weighPath, withoutTwins } from './choose-outline.js';
import { alongMm, type EdgeCurve } from './edge-places.js';
import {
  type FinishModel,
  type FinishRoom,
  finishRoom,
  giveBackRoom,
  learnFinish,
  type SpreadFloor,
  strictFloor,
  tolerantFloor,
} from './finish-model.js';
import { barePlaces, middleOf, type OnTable, reachOf } from './finish-places.js';
import { followMeans } from './follow-means.js';
import { proposeLines } from './line-votes.js';
import { lookFromAbove } from './look-from-above.js';
import { clearnessByMeans, outlineByMeans } from './outline-by-means.js';
import { evaluatePolynomial } from './polynomial.js';
import type { ReducedPhoto } from './reduced-photo.js';
import { followSide, type SidePath } from './side-path.js';
import { LineProjector, type OutlineLine } from './table-lines.js';
import { markTrack, onTrack } from './track-zone.js';

/** A side as found on the reduced picture. */
export interface FoundSide {
  readonly curve: EdgeCurve;
  /** How clearly it was seen, 0…1: 0.3 is fair. */
  readonly evidence: number;
}

/** The sides as found on the reduced picture, and what is needed to measure them on the full one. */
export interface FoundOutline {
  readonly sides: readonly FoundSide[];
  readonly finish: FinishModel;
  readonly projector: LineProjector;
}

/**
 * Evidence from which a side counts as clear. It is a mean over the side up to its corners or, without a corner, up to the
 * picture's border: a side that runs on past an unseen corner does not reach it.
 */
const clearEvidence = 0.6;

/** Evidence of all four sides from which no other look is taken: half of what a clear side shows. */
const fairEvidence = 0.3;

/** An outline with what speaks for it: the photo length of full evidence, beyond what its sides need to be believed. */
interface WeighedOutline {
  readonly sides: readonly OutlineSide[];
  readonly finish: FinishModel;
  readonly gainPx: number;
}

/**
 * Looks for the outline on a reduced picture. Where not all its sides are clear, the look of the finish is learned once
 * more, from everything inside the sides found so far, and they are looked for again; and where four of them are not
 * found even so, with a strict eye for what looks like the table top, as the floor may look much like it.
 */
export function searchOutline(
  raster: Raster,
  camera: Camera,
  on: OnTable,
  reduced: ReducedPhoto,
  mostLines: number,
): FoundOutline {
  const middle = middleOf(on);
  const origin = tablePoint(middle.x, middle.y);
  const projector = new LineProjector(camera, origin, raster.widthPx, raster.heightPx);
  const marks = markTrack(camera, reduced, on);
  const search: Search = { camera, on, origin, reduced, projector, marks, mostLines };
  const room = finishRoom(reduced);
  const first = lookTwice(search, room, tolerantFloor);
  if (first.sides.length === 4 && first.sides.every((s) => s.evidence > fairEvidence)) return found(first, projector);
  const strictRoom = finishRoom(reduced);
  const strict = lookTwice(search, strictRoom, strictFloor);
  // What looks unlike one patch of the table top makes a side easily, but hardly two that are square to each other.
  const isBetter = strict.sides.length >= 2 && strict.gainPx > first.gainPx;
  giveBackRoom(isBetter ? room : strictRoom);
  const better = isBetter ? strict : first;
  return lookByMeans(search, isBetter ? strictRoom : room, better);
}

function found({ sides, finish }: WeighedOutline, projector: LineProjector): FoundOutline {
  return {
    sides: sides.map(({ path: { line, shiftPx }, fromMm, toMm, evidence }) => ({
      curve: { line, shiftPx, fromMm, toMm },
      evidence,
    })),
    finish,
    projector,
  };
}

/** The outline that shows on average must be so much clearer than the one found place by place, in sides. */
const clearerSides = 0.4;
/** Less than this, in sides, is no outline: as much as two that are hardly seen. */
const leastClearSides = 1;
/** A side that is hardly seen place by place, and less clear than this on average, is none. */
const leastClearness = 0.15;
/** Lines nearer to each other than this are of the same side: mm, rad. */
const sameSide = { apartMm: 40, turnRad: 0.05 };

/**
 * Looks for the sides by what changes across them on average, as boards of a table top and of a floor may be alike one by
 * one. It takes the place of the sides known where it is clearer and has all those that were clear; else sides that show in
 * neither way are left out.
 */
function lookByMeans(search: Search, room: FinishRoom, known: WeighedOutline): FoundOutline {
  const { camera, on, origin, reduced, projector, marks } = search;
  // Track that is not known would show most of all.
  if (on.track.length === 0) return found(known, projector);
  const above = lookFromAbove(camera, reduced, marks, on, origin);
  const reach = reachOf(on, origin);
  const { sides, clearness } = outlineByMeans(above, reach);
  const before = known.sides.map(({ path, fromMm, toMm }) =>
    clearnessByMeans(above, reach, { line: path.line, fromMm, toMm }),
  );
  const isClearer = clearness > leastClearSides && clearness > before.reduce((sum, c) => sum + c, 0) + clearerSides;
  const hasAllClear = known.sides.every(
    (side) => side.evidence < clearEvidence || sides.some(({ line }) => isSameSide(line, side.path.line)),
  );
  if (!isClearer || !hasAllClear) {
    const seen = known.sides.filter((side, i) => side.evidence > fairEvidence || before[i] > leastClearness);
    return found({ ...known, sides: seen }, projector);
  }
  const curves = sides.map((side) => followMeans(projector, reduced, marks, side));
  const inside = curves.flatMap((curve) => placesInside(curve, search));
  const finish = learnWithTrack(reduced, room, barePlaces(camera, reduced, on, inside), marks, tolerantFloor);
  return { sides: curves.map((curve, i) => ({ curve, evidence: sides[i].clearness })), finish, projector };
}

function isSameSide(a: OutlineLine, b: OutlineLine): boolean {
  const turn = a.thetaRad - b.thetaRad;
  return Math.cos(turn) > Math.cos(sameSide.turnRad) && Math.abs(a.rhoMm - b.rhoMm) < sameSide.apartMm;
}

/** Places a little inside a side, table frame. */
function placesInside({ line, fromMm, toMm }: EdgeCurve, { origin, on }: Search): TablePoint[] {
  const c = Math.cos(line.thetaRad);
  const s = Math.sin(line.thetaRad);
  const insetMm = 40;
  const reach = reachOf(on, origin);
  // Where no corner ends the side it is table at least as far as something lies on it.
  const from = Number.isFinite(fromMm) ? fromMm : -reach(line.thetaRad - Math.PI / 2);
  const to = Number.isFinite(toMm) ? toMm : reach(line.thetaRad + Math.PI / 2);
  const rho = line.rhoMm - insetMm;
  const places: TablePoint[] = [];
  for (let along = from + insetMm; along <= to - insetMm; along += insetMm / 2)
    places.push(tablePoint(origin.x + rho * c - along * s, origin.y + rho * s + along * c));
  return places;
}

/** @param room holds the finish of what is returned */
function lookTwice(search: Search, room: FinishRoom, floor: SpreadFloor): WeighedOutline {
  const { camera, reduced, on, marks } = search;
  const learn = (inside: readonly TablePoint[]): FinishModel =>
    learnWithTrack(reduced, room, barePlaces(camera, reduced, on, inside), marks, floor);
  const first = searchOnce(search, learn([]));
  if (first.sides.length >= 2 && first.sides.every((s) => s.evidence > clearEvidence)) return first;
  if (first.sides.length === 0) return first;
  const seen = first.sides.flatMap((s) => seenPlaces(s, search));
  return searchOnce(search, learn(seen));
}

/** What the finish looks like, learned from places of which it is known that they lie on the table; no line is sought. */
export function finishInside(
  raster: Raster,
  camera: Camera,
  on: OnTable,
  inside: readonly TablePoint[],
  reduced: ReducedPhoto,
): Omit<FoundOutline, 'sides'> {
  const marks = markTrack(camera, reduced, on);
  const middle = middleOf({ ...on, track: [...on.track, ...inside] });
  const origin = tablePoint(middle.x, middle.y);
  const finish = learnWithTrack(
    reduced,
    finishRoom(reduced),
    barePlaces(camera, reduced, on, inside),
    marks,
    tolerantFloor,
  );
  return { finish, projector: new LineProjector(camera, origin, raster.widthPx, raster.heightPx) };
}

/** What the known track covers is table as far as its outline is concerned. */
function learnWithTrack(
  reduced: ReducedPhoto,
  room: FinishRoom,
  places: readonly number[],
  marks: Uint8Array,
  floor: SpreadFloor,
): FinishModel {
  const finish = learnFinish(reduced, room, places, floor);
  const { likeness } = room;
  for (let i = 0; i < marks.length; i++) if (marks[i] === onTrack) likeness[i] = Math.max(likeness[i], trackLikeness);
  return finish;
}

const trackLikeness = 0.8;

/** A side must be clearly seen over this share of the picture's longest side. */
const leastSideShare = 0.05;

interface Search {
  readonly camera: Camera;
  readonly on: OnTable;
  readonly origin: TablePoint;
  readonly reduced: ReducedPhoto;
  readonly projector: LineProjector;
  readonly marks: Uint8Array;
  readonly mostLines: number;
}

function searchOnce(search: Search, finish: FinishModel): WeighedOutline {
  const { camera, on, origin, reduced, projector } = search;
  const reach = reachOf(on, origin);
  const paths: WeighedPath[] = [];
  for (const line of proposeLines(camera, reduced, finish, origin, (t) => reach(t) - 25, search.mostLines)) {
    const path = followSide(projector, reduced, finish, search.marks, line);
    if (path && enclosesTrack(path, search)) paths.push(weighPath(path, mmPerPx(path, camera)));
  }
  const longestPx = reduced.scale * Math.max(reduced.widthPx, reduced.heightPx);
  return { ...chooseOutline(withoutTwins(paths), leastSideShare * longestPx), finish };
}

/** Places a little inside the well-seen parts of a side, table frame. */
function seenPlaces(side: OutlineSide, search: Search): TablePoint[] {
  const { inPhoto, evidence, line, shiftPx } = side.path;
  const c = Math.cos(line.thetaRad);
  const s = Math.sin(line.thetaRad);
  const scale = mmPerPx(side.path, search.camera);
  const insetMm = 12;
  const places: TablePoint[] = [];
  for (let i = 0; i < inPhoto.count; i++) {
    const along = inPhoto.sMm[i];
    if (evidence[i] < 0.4 || along < side.fromMm + insetMm || along > side.toMm - insetMm) continue;
    const rho = line.rhoMm + evaluatePolynomial(shiftPx, along / alongMm) * scale - insetMm;
    places.push(tablePoint(search.origin.x + rho * c - along * s, search.origin.y + rho * s + along * c));
  }
  return places;
}

/** Millimetres at z = 0 square to the path for a photo pixel, in the middle of the path. */
function mmPerPx(path: SidePath, camera: Camera): number {
  const { px, py, nx, ny, count } = path.inPhoto;
  const i = count >> 1;
  const a = tableFromPhotoAtHeight(camera, px[i], py[i], 0);
  const b = tableFromPhotoAtHeight(camera, px[i] + nx[i], py[i] + ny[i], 0);
  return Math.abs((b.x - a.x) * Math.cos(path.line.thetaRad) + (b.y - a.y) * Math.sin(path.line.thetaRad));
}

/** All markers and all but a few places of the track must lie inside the path. */
function enclosesTrack(path: SidePath, { on, origin, camera }: Search): boolean {
  const c = Math.cos(path.line.thetaRad);
  const s = Math.sin(path.line.thetaRad);
  const scale = mmPerPx(path, camera);
  const { sMm, count } = path.inPhoto;
  const outside = (x: number, y: number): number => {
    const along = Math.min(sMm[count - 1], Math.max(sMm[0], -(x - origin.x) * s + (y - origin.y) * c));
    const shift = evaluatePolynomial(path.shiftPx, along / alongMm) * scale;
    return (x - origin.x) * c + (y - origin.y) * s - path.line.rhoMm - shift;
  };
  const toleranceMm = 3;
  if (on.markerCorners.some((corners) => corners.some((p) => outside(p.x, p.y) > toleranceMm))) return false;
  const beyond = on.track.filter((p) => outside(p.x, p.y) + on.halfTrackMm > toleranceMm).length;
  return beyond <= 0.02 * on.track.length;
}
