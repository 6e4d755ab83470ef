import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { TablePoint } from '../../geometry/frames.js';
import type { Raster } from '../../images/raster.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import type { TableCorner, TableEdge, TableSide } from '../../scene/table-edge.js';
import { layersAt } from './edge-layers.js';
import type { EdgeCurve } from './edge-places.js';
import { findEdgePoints } from './edge-points.js';
import { coloursOf, type FinishColours, type FinishLook, giveBackRoom, lookOfFinish } from './finish-model.js';
import type { OnTable } from './finish-places.js';
import { cornerBetween, fitTableLine } from './outline-geometry.js';
import { type FoundSide, searchOutline } from './outline-search.js';
import { type ReducedPhoto, reducePhoto } from './reduced-photo.js';
import { straightenSides } from './straighten-sides.js';
import { LineProjector } from './table-lines.js';
import { type Covered, coveredByTrack, type KnownTrack, trackDistance } from './track-zone.js';

export interface TableEdgeInput {
  readonly photo: Photo;
  /** May be only near the truth: focal length by 2 %, a lens model that bows edges by tens of pixels. */
  readonly camera: Camera;
  readonly markers: readonly MarkerDetection[];
  /** Centre line of the track at rail height, about every 20 mm, table frame; may be empty. */
  readonly trackInTable: readonly { readonly x: number; readonly y: number }[];
  readonly railTopMm: number;
  /** From the centre line to the outside face of an outer rail head. */
  readonly halfTrackMm: number;
  /** The photo as `reduceForEdge` makes it, where that was done beforehand. */
  readonly reduced?: ReducedPhoto;
}

/** Longest side of the reduced picture in which edges are looked for, pixels. */
const reducedPx = 1080;

/** What the search needs of a photo before anything is known of it. */
export function reduceForEdge(raster: Raster): ReducedPhoto {
  return reducePhoto(raster, reducedPx);
}

/** How many lines are followed. */
const mostLines = 90;

/** A side is not reported that shows less than this share of its length, or at fewer places. */
const leastSeenRatio = 0.15;
const fewestPoints = 8;

/** Sides of the table top as they were found, straight together, before they are measured point by point. */
export interface FoundSides {
  readonly sides: readonly FoundSide[];
  readonly finish: FinishColours;
  /** Origin of the sides' lines, table frame. */
  readonly origin: TablePoint;
  readonly track: KnownTrack;
}

/**
 * Finds the sides of the upper edge of the table top in one photo, without any click; `measureSide` measures each of them,
 * and `edgeOfSides` puts them together: two threads may share them.
 *
 * Edges are voted for as lines of the table frame on a reduced picture, followed as chains that may bow, weighed by what
 * lies inside (the finish around track and markers) and outside, combined to four sides a quarter turn apart of which
 * some may lie outside the picture, and measured on the full picture as blurred steps in linear light.
 *
 * @returns sides counter-clockwise, none where none is seen; null where nothing is known to lie on the table
 */
export function findSides(input: TableEdgeInput): FoundSides | null {
  const { photo, camera } = input;
  const { raster } = photo;
  const on = onTable(input);
  if (on.markerCorners.length === 0 && on.track.length === 0) return null;
  const reduced = input.reduced ?? reduceForEdge(raster);
  const { sides, finish, projector } = searchOutline(raster, camera, on, reduced, mostLines);
  const curves = straightenSides(
    raster,
    camera,
    projector,
    finish,
    trackDistance(camera, on),
    sides.map(({ curve }) => curve),
  );
  giveBackRoom(finish);
  return {
    sides: curves.map((curve, i) => ({ curve, evidence: sides[i].evidence })),
    finish: coloursOf(finish),
    origin: projector.origin,
    track: { track: on.track, halfTrackMm: on.halfTrackMm, railTopMm: on.railTopMm },
  };
}

/** Measures one of the sides found; null where too little of it is seen. */
export function measureSide(
  raster: Raster,
  camera: Camera,
  { sides, finish, origin, track }: FoundSides,
  index: number,
): TableSide | null {
  const { curve, evidence } = sides[index];
  const projector = new LineProjector(camera, origin, raster.widthPx, raster.heightPx);
  const seen = seenAlong(raster, camera, projector, lookOfFinish(finish), curve, coveredByTrack(camera, track));
  if (!seen) return null;
  const certainty = Math.max(0, Math.min(1, evidence / 0.5)) * Math.min(1, seen.seenRatio / 0.5);
  return { ...seen, certainty };
}

/** What the full picture shows of the edge along a curve, point by point; null where that is too little. */
export function seenAlong(
  raster: Raster,
  camera: Camera,
  projector: LineProjector,
  finish: FinishLook,
  curve: EdgeCurve,
  covered: Covered,
): Omit<TableSide, 'certainty'> | null {
  const layers = layersAt(raster, projector, finish, curve, covered);
  const { points, seenRatio } = findEdgePoints(raster, projector, layers, covered);
  if (points.length < fewestPoints || seenRatio < leastSeenRatio) return null;
  const lineInTable = fitTableLine(points, camera, curve.line.thetaRad);
  return { points, lineInTable, seenRatio };
}

/** The edge that the sides make, in order; null where none was measured. */
export function edgeOfSides(raster: Raster, camera: Camera, measured: readonly (TableSide | null)[]): TableEdge | null {
  const sides = measured.filter((side) => side !== null);
  if (sides.length === 0) return null;
  return { sides, corners: cornersOf(sides, camera, raster.widthPx, raster.heightPx) };
}

/** What surely lies on the table, in the form that the search for its edge works with. */
export function onTable(input: TableEdgeInput): OnTable {
  const { camera, markers } = input;
  return {
    markerCorners: markers.map((m) => m.cornersInPhoto.map((c) => tableFromPhotoAtHeight(camera, c.x, c.y, 0))),
    track: input.trackInTable,
    halfTrackMm: input.halfTrackMm,
    railTopMm: input.railTopMm,
  };
}

function cornersOf(sides: readonly TableSide[], camera: Camera, widthPx: number, heightPx: number): TableCorner[] {
  const corners: TableCorner[] = [];
  for (let i = 0; i < sides.length; i++) {
    const j = (i + 1) % sides.length;
    if (i === j) continue;
    const corner = cornerBetween(sides[i].lineInTable, sides[j].lineInTable, camera, widthPx, heightPx);
    if (corner) corners.push({ ...corner, sides: [i, j] });
  }
  return corners;
}
