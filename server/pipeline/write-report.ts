import type { Coverage } from '../contract/coverage.js';
import type { Report, ReportPiece } from '../contract/report.js';
import { multiply3 } from '../geometry/rotation.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { MeasuredLayout, MeasuredPiece, MeasuredRun, MeasuredSide } from '../scene/measured-layout.js';
import { markerCornerInTable } from '../scene/placed-marker.js';
import { pointOnArc } from '../scene/track-observation.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import { type FaceDistance, profileOfRun } from '../stages/measurements/distances.js';
import { seenAt } from '../stages/measurements/seen-at.js';
import { spacingsBetween } from '../stages/measurements/spacings.js';
import { coverage95 } from '../units/estimate.js';
import { sideLengthU } from './side-lengths.js';

type Pair = [number, number];

/** A turn and a shift of the table plane: report = R(turnRad) (adjusted − origin). */
export interface TableShift {
  readonly originX: number;
  readonly originY: number;
  readonly turnRad: number;
}

/** Origin at the corner where side A starts, x along it: the table frame of the report. */
export function reportShift(sides: readonly MeasuredSide[]): TableShift {
  if (sides.length === 0) return { originX: 0, originY: 0, turnRad: 0 };
  const [first] = sides;
  const p = pointOnArc(first.arc, first.fromS);
  return { originX: p.x, originY: p.y, turnRad: -first.arc.headingRad };
}

/** Turns places of the adjustment's frame into the report's. */
function moverOf(shift: TableShift): (x: number, y: number) => Pair {
  const c = Math.cos(shift.turnRad);
  const s = Math.sin(shift.turnRad);
  return (x, y) => {
    const dx = x - shift.originX;
    const dy = y - shift.originY;
    return [c * dx - s * dy, s * dx + c * dy];
  };
}

/** Ends of table sides and of pieces of track, and corners of markers: what a picture of the table has to show, report frame. */
export function placesShown(
  layout: MeasuredLayout,
  state: AdjustmentState,
  markerSideMm: number,
  shift: TableShift,
): Pair[] {
  const move = moverOf(shift);
  const pieces = layout.runs.flatMap((run) => run.pieces);
  const ends = [...layout.sides, ...pieces].flatMap(({ arc, fromS, toS }) =>
    [fromS, toS].map((s) => pointOnArc(arc, s)).map(({ x, y }) => move(x, y)),
  );
  const side = markerSideMm * state.printScale;
  const corners = state.markers.flatMap((m) => [0, 1, 2, 3].map((k) => move(...markerCornerInTable(m, side, k))));
  return [...ends, ...corners];
}

export interface ReportInput {
  readonly layout: MeasuredLayout;
  /** The smallest of each run to each side. */
  readonly clearances: readonly FaceDistance[];
  readonly state: AdjustmentState;
  readonly detections: readonly (readonly MarkerDetection[])[];
  readonly markerSideMm: number;
  readonly rmsResidualPx: readonly number[];
  /** Why markers were set aside, by id. */
  readonly asideReasons: ReadonlyMap<number, string>;
  readonly warnings: readonly { code: string; message: string }[];
  /** In the report's table frame already. */
  readonly coverage?: Coverage;
}

/** Writes the agreed report; everything is turned into the report's table frame here and nowhere else. */
export function writeReport(input: ReportInput): Report {
  const { layout, state } = input;
  const shift = reportShift(layout.sides);
  const move = moverOf(shift);
  const moved = (d: FaceDistance): Report['clearances'][number] => ({
    side: d.side,
    run: d.run,
    distance: d.distance,
    at: move(d.at[0], d.at[1]),
    edgeAt: move(d.edgeAt[0], d.edgeAt[1]),
    seen: d.seen,
  });
  return {
    // As `reportFormat`, whose module would load what checks reports.
    format: 'gapwright-measurement/1',
    photos: layout.photoNames.map((file, i) => photoOf(input, file, i, shift)),
    markers: state.markers.map((m) => {
      const side = input.markerSideMm * state.printScale;
      return {
        id: m.id,
        sideMm: side,
        centre: move(m.x, m.y),
        corners: [0, 1, 2, 3].map((k) => move(...markerCornerInTable(m, side, k))),
      };
    }),
    table: tableOf(layout, move),
    track: {
      railTopMm: layout.track.railTopMm,
      gaugeMm: layout.track.gaugeMm,
      headWidthMm: layout.track.headWidthMm,
    },
    runs: layout.runs.map((run) => ({
      id: run.id,
      closed: run.closed,
      pieces: run.pieces.map((p) => pieceOf(p, move, shift.turnRad)),
    })),
    joints: layout.runs.flatMap((run) => jointsOf(layout, run, move)),
    clearances: input.clearances.map(moved),
    profile: layout.runs.flatMap((run) => profileOfRun(layout, run)).map(moved),
    spacings: spacingsBetween(layout).map((p) => ({ ...p, at: move(p.at[0], p.at[1]) })),
    notSeen: layout.runs.flatMap((run) =>
      run.pieces
        .filter((p) => !p.seen)
        .map((p) => {
          const a = pointOnArc(p.arc, p.fromS);
          const b = pointOnArc(p.arc, p.toS);
          return { run: run.id, from: move(a.x, a.y), to: move(b.x, b.y), why: 'covered' };
        }),
    ),
    warnings: [...input.warnings],
    ...(input.coverage ? { coverage: input.coverage } : {}),
  };
}

function photoOf(input: ReportInput, file: string, i: number, shift: TableShift): Report['photos'][number] {
  const { lens, cameraFromTable } = input.layout.cameras[i];
  // x_adjusted = R(−turn) x_report + origin.
  const c = Math.cos(shift.turnRad);
  const s = Math.sin(shift.turnRad);
  const r = cameraFromTable.rotation;
  const t = cameraFromTable.translation;
  const rotation = multiply3(r, [c, s, 0, -s, c, 0, 0, 0, 1]);
  const translation = [0, 1, 2].map((k) => t[k] + r[3 * k] * shift.originX + r[3 * k + 1] * shift.originY);
  return {
    file,
    widthPx: input.layout.photoSizesPx[i][0],
    heightPx: input.layout.photoSizesPx[i][1],
    camera: { ...lens, rotation: [rotation.slice(0, 3), rotation.slice(3, 6), rotation.slice(6, 9)], translation },
    rmsResidualPx: input.rmsResidualPx[i],
    markers: input.detections[i].map((d) => ({
      id: d.id,
      cornersPx: d.cornersInPhoto.map((p) => [p.x, p.y] as Pair),
      used: !input.asideReasons.has(d.id),
      reason: input.asideReasons.get(d.id) ?? null,
    })),
  };
}

function tableOf(layout: MeasuredLayout, move: (x: number, y: number) => Pair): Report['table'] {
  const outline: Pair[] = [];
  const sides = layout.sides.map((side, i) => {
    const a = pointOnArc(side.arc, side.fromS);
    const b = pointOnArc(side.arc, side.toS);
    const from = move(a.x, a.y);
    const to = move(b.x, b.y);
    const last = outline[outline.length - 1];
    if (!last || Math.hypot(last[0] - from[0], last[1] - from[1]) > 0.5) outline.push(from);
    outline.push(to);
    const u = sideLengthU(layout.sides, i, (a, b) => layout.arcCovariance(a, b));
    return { name: side.name, from, to, length: { value: side.toS - side.fromS, u }, seen: true };
  });
  const first = outline[0];
  const last = outline[outline.length - 1];
  if (outline.length > 1 && Math.hypot(first[0] - last[0], first[1] - last[1]) < 0.5) outline.pop();
  return { outline, sides };
}

function pieceOf(p: MeasuredPiece, move: (x: number, y: number) => Pair, turnRad: number): ReportPiece {
  const a = pointOnArc(p.arc, p.fromS);
  const b = pointOnArc(p.arc, p.toS);
  const length = p.toS - p.fromS;
  const from = move(a.x, a.y);
  const to = move(b.x, b.y);
  if (p.straight) {
    const heading = p.arc.headingRad + turnRad;
    const headingRad = Math.atan2(Math.sin(heading), Math.cos(heading));
    return { kind: 'straight', from, to, headingRad, length: { value: length, u: Math.hypot(0.3, 2e-4 * length) } };
  }
  const k = p.arc.curvaturePerMm;
  const cx = p.arc.x - Math.sin(p.arc.headingRad) / k;
  const cy = p.arc.y + Math.cos(p.arc.headingRad) / k;
  const radius = Math.abs(1 / k);
  // A sagitta wrong by 0.06 mm over this length: found on pictures with known truth.
  const u = (8 * 0.06 * radius * radius) / Math.max(1, length * length);

  return { kind: 'curve', from, to, centre: move(cx, cy), sweepRad: k * length, radius: { value: radius, u } };
}

function jointsOf(layout: MeasuredLayout, run: MeasuredRun, move: (x: number, y: number) => Pair): Report['joints'] {
  return run.joints.map((joint, i) => {
    const places = neighbours(run, i);
    const at = places.at;
    return {
      id: `${run.id}-J${i + 1}`,
      run: run.id,
      at: move(at.x, at.y),
      open: joint.open,
      gap: joint.gapMm,
      rails: { left: joint.railsMm[2], centre: joint.railsMm[1], right: joint.railsMm[0] },
      kinkRad: places.kinkRad === null ? null : { value: places.kinkRad, u: 0.4 / coverage95 / 57.3 },
      ...(places.pieces ? { pieces: places.pieces } : {}),
      seen: seenAt(layout, at.x, at.y, layout.track.railTopMm),
    };
  });
}

interface JointPlace {
  readonly at: { x: number; y: number };
  readonly kinkRad: number | null;
  readonly pieces: [number, number] | null;
}

/** The piece before and after a joint, by the joint's place on the run. */
function neighbours(run: MeasuredRun, index: number): JointPlace {
  const at = run.jointPlaces[index];
  let before = -1;
  let after = -1;
  let [db, da] = [20, 20];
  run.pieces.forEach((p, i) => {
    const a = pointOnArc(p.arc, p.fromS);
    const b = pointOnArc(p.arc, p.toS);
    const half = run.joints[index].gapMm.value / 2;
    const dEnd = Math.hypot(b.x - at.x, b.y - at.y) - half;
    const dStart = Math.hypot(a.x - at.x, a.y - at.y) - half;
    if (dEnd < db) {
      db = dEnd;
      before = i;
    }
    if (dStart < da) {
      da = dStart;
      after = i;
    }
  });
  if (before < 0 || after < 0) return { at, kinkRad: null, pieces: null };
  const h1 = pointOnArc(run.pieces[before].arc, run.pieces[before].toS).headingRad;
  const h2 = pointOnArc(run.pieces[after].arc, run.pieces[after].fromS).headingRad;
  return { at, kinkRad: Math.atan2(Math.sin(h2 - h1), Math.cos(h2 - h1)), pieces: [before, after] };
}
