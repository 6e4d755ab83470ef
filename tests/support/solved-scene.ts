import { type Camera, type Lens, photoFromTable } from '../../server/geometry/camera.js';
import { solvedTableOf } from '../../server/pipeline/solved-table.js';
import type { MeasuredLayout, MeasuredPiece, MeasuredSide } from '../../server/scene/measured-layout.js';
import { markerCornerInTable } from '../../server/scene/placed-marker.js';
import type { SolvedTable } from '../../server/scene/solved-table.js';
import { type Arc, type LineObservation, pointOnArc } from '../../server/scene/track-observation.js';
import { outerHeadOffsetMm, tallTrack } from '../../server/scene/track-profile.js';
import { adjust, type MarkerObservation } from '../../server/stages/camera/adjustment.js';
import type { StartCamera } from '../../server/stages/camera/start-camera.js';

const track = tallTrack;
const markerSideMm = 120;
const sizePx = [4032, 3024] as const;
const lens: Lens = { fx: 3000, fy: 3000, cx: 2015.5, cy: 1511.5, k1: -0.03, k2: 0.01, p1: 0, p2: 0 };
const edgeSigmaPx = 0.4;
const edgeStepMm = 8;
const railStepMm = 8;

/** What a made-up solved table holds; the table's lower left corner is the origin, side A along x. */
export interface SceneWish {
  readonly lengthMm?: number;
  readonly widthMm?: number;
  readonly markers: readonly { readonly id: number; readonly x: number; readonly y: number }[];
  readonly cameras: readonly Camera[];
  /** Pieces that nothing shows. */
  readonly hidden?: readonly number[];
}

/** A camera held at a place and aimed at another, its picture's x along the table's. */
export function heldAt(at: readonly [number, number, number], aim: readonly [number, number]): Camera {
  const z = [aim[0] - at[0], aim[1] - at[1], -at[2]];
  const along = Math.hypot(...z);
  for (let k = 0; k < 3; k++) z[k] /= along;
  const flat = Math.hypot(1, z[0] / z[2]);
  const x = [1 / flat, 0, -z[0] / z[2] / flat];
  const y = [z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0]];
  const rotation = [...x, ...y, ...z];
  const t = [0, 3, 6].map((k) => -(rotation[k] * at[0] + rotation[k + 1] * at[1] + rotation[k + 2] * at[2]));
  return { lens, cameraFromTable: { rotation, translation: [t[0], t[1], t[2]] } };
}

/**
 * A table with an oval of track, seen without any noise and adjusted by the product's own adjustment: its covariance is
 * what such a measurement would have.
 */
export function solvedScene(wish: SceneWish): SolvedTable {
  const { lengthMm = 1800, widthMm = 1200 } = wish;
  const sideArcs = [
    straight(lengthMm / 2, 0, 0, lengthMm),
    straight(lengthMm, widthMm / 2, Math.PI / 2, widthMm),
    straight(lengthMm / 2, widthMm, Math.PI, lengthMm),
    straight(0, widthMm / 2, -Math.PI / 2, widthMm),
  ];
  const oval = ovalPieces(lengthMm, widthMm);
  const shown = oval.map((p, i) => ({ ...p, seen: !(wish.hidden ?? []).includes(i) }));
  const arcs: Arc[] = [];
  const straightOf: boolean[] = [];
  const lines: LineObservation[] = [];
  wish.cameras.forEach((camera, photo) => {
    for (const piece of shown) {
      if (!piece.seen) continue;
      const arc = arcs.push(piece.arc) - 1;
      straightOf.push(piece.straight);
      lines.push(...railsSeen(camera, photo, piece, arc));
    }
  });
  const firstSide = arcs.length;
  for (const [i, arc] of sideArcs.entries()) {
    arcs.push(arc);
    straightOf.push(true);
    for (const [photo, camera] of wish.cameras.entries()) lines.push(...edgeSeen(camera, photo, arc, firstSide + i));
  }
  const markers = wish.markers.map((m) => ({ ...m, turnRad: 0 }));
  const start: StartCamera = {
    state: {
      lenses: [lens],
      lensOfPhoto: wish.cameras.map(() => 0),
      cameras: wish.cameras,
      markers,
      arcs,
      straight: straightOf,
      printScale: 1,
      gaugeScale: 1,
      railTopOffMm: 0,
    },
    markerObservations: wish.cameras.flatMap((camera, photo) => markersSeen(camera, photo, markers)),
    focalPrior: [{ valuePx: lens.fx, uPx: 0.015 * lens.fx }],
    principalPoints: [{ xPx: lens.cx, yPx: lens.cy, uPx: [12, 12] }],
    cropped: [],
  };
  const output = adjust({
    ...start,
    markerSideMm,
    track,
    lineObservations: lines,
    tapes: [],
    robustWidth: 2,
    maxIterations: 5,
  });
  const layout: MeasuredLayout = {
    cameras: wish.cameras,
    photoNames: wish.cameras.map((_, i) => `photo ${i + 1}`),
    photoSizesPx: wish.cameras.map(() => sizePx),
    track,
    railTopOffMm: 0,
    runs: [{ id: 'R1', closed: true, photo: 0, pieces: shown, joints: [], jointPlaces: [], hidden: [] }],
    sides: sideArcs.map(
      (arc, i): MeasuredSide => ({
        name: 'ABCD'[i],
        arc,
        arcIndex: firstSide + i,
        fromS: -arc.halfLengthMm,
        toS: arc.halfLengthMm,
        fromCorner: true,
        toCorner: true,
      }),
    ),
    arcCovariance: () => null,
  };
  const adjusted = { output, firstSide, lineObservations: lines };
  const solved = solvedTableOf({ adjusted, start, sides: [], traces: [], primary: 0, markerSideMm }, layout);
  if (!solved) throw new Error('the scene has no covariance');
  const readingPx = wish.cameras.map(() => 0.15);
  return { ...solved, quality: { ...solved.quality, edgeSigmaPx, edgeStepMm, railStepMm, readingPx } };
}

function straight(x: number, y: number, headingRad: number, lengthMm: number): Arc {
  return { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: lengthMm / 2 };
}

/** Two straights and four quarter turns, 90 mm from the long sides. */
function ovalPieces(lengthMm: number, widthMm: number): Omit<MeasuredPiece, 'seen'>[] {
  const r = widthMm / 2 - 90;
  const half = lengthMm / 2 - 90 - r;
  const [cx, cy] = [lengthMm / 2, widthMm / 2];
  const piece = (arc: Arc, i: number): Omit<MeasuredPiece, 'seen'> => ({
    arc,
    arcIndex: i,
    straight: arc.curvaturePerMm === 0,
    fromS: -arc.halfLengthMm,
    toS: arc.halfLengthMm,
  });
  const turn = (x: number, at: number): Arc => ({
    x: x + r * Math.cos(at),
    y: cy + r * Math.sin(at),
    headingRad: at + Math.PI / 2,
    curvaturePerMm: 1 / r,
    halfLengthMm: (r * Math.PI) / 4,
  });
  return [
    straight(cx, cy - r, 0, 2 * half),
    turn(cx + half, -Math.PI / 4),
    turn(cx + half, Math.PI / 4),
    straight(cx, cy + r, Math.PI, 2 * half),
    turn(cx - half, (3 * Math.PI) / 4),
    turn(cx - half, (-3 * Math.PI) / 4),
  ].map(piece);
}

function inPicture(p: { x: number; y: number }): boolean {
  return p.x >= 12 && p.y >= 12 && p.x <= sizePx[0] - 13 && p.y <= sizePx[1] - 13;
}

function railsSeen(camera: Camera, photo: number, piece: MeasuredPiece | Omit<MeasuredPiece, 'seen'>, arc: number) {
  const out: LineObservation[] = [];
  const z = track.railTopMm - track.headWidthMm / 2;
  for (let s = piece.fromS + railStepMm / 2; s < piece.toS; s += railStepMm)
    for (const rail of [-1, 0, 1] as const) {
      const offset = rail * outerHeadOffsetMm(track);
      const p = pointOnArc(piece.arc, s, offset);
      const seen = lineSeen(camera, p, z);
      if (seen) out.push({ photo, arc, s, rail, kind: 'rail', ...seen, sigmaPx: 0.5 * seen.pxPerMm });
    }
  return out;
}

function edgeSeen(camera: Camera, photo: number, arcOnTable: Arc, arc: number): LineObservation[] {
  const out: LineObservation[] = [];
  for (let s = -arcOnTable.halfLengthMm + edgeStepMm / 2; s < arcOnTable.halfLengthMm; s += edgeStepMm) {
    const seen = lineSeen(camera, pointOnArc(arcOnTable, s), 0);
    if (seen) out.push({ photo, arc, s, rail: 0, kind: 'edge', ...seen, sigmaPx: edgeSigmaPx });
  }
  return out;
}

/** Where a line's place appears, with the direction square to the line's picture. */
function lineSeen(camera: Camera, at: { x: number; y: number; headingRad: number }, z: number) {
  const p = photoFromTable(camera, at.x, at.y, z);
  if (!inPicture(p)) return null;
  const [c, s] = [Math.cos(at.headingRad), Math.sin(at.headingRad)];
  const along = photoFromTable(camera, at.x + c, at.y + s, z);
  const beside = photoFromTable(camera, at.x - s, at.y + c, z);
  const length = Math.hypot(along.x - p.x, along.y - p.y);
  const [normalX, normalY] = [-(along.y - p.y) / length, (along.x - p.x) / length];
  const pxPerMm = Math.abs(normalX * (beside.x - p.x) + normalY * (beside.y - p.y));
  return { px: p.x, py: p.y, normalX, normalY, pxPerMm };
}

function markersSeen(
  camera: Camera,
  photo: number,
  markers: readonly { id: number; x: number; y: number; turnRad: number }[],
): MarkerObservation[] {
  return markers.flatMap((marker, i) => {
    const corners = [0, 1, 2, 3].map((k) => photoFromTable(camera, ...markerCornerInTable(marker, markerSideMm, k), 0));
    if (!corners.every(inPicture)) return [];
    return [{ photo, marker: i, cornersPx: corners.map((p) => [p.x, p.y] as const), sigmaPx: 0.1 }];
  });
}
