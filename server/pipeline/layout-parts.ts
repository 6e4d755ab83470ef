import type { Camera } from '../geometry/camera.js';
import type { MeasuredPiece, MeasuredRun, MeasuredSide } from '../scene/measured-layout.js';
import type { CentreLine, HiddenSpan, RailJoint } from '../scene/rail-joint.js';
import type { RailTrace } from '../scene/rail-trace.js';
import { type Arc, alongArc, pointOnArc } from '../scene/track-observation.js';
import type { TrackProfile } from '../scene/track-profile.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import type { EndBeyond } from '../stages/joints/beyond-cover.js';
import type { JointsOfRun } from '../stages/joints/find-joints.js';
import { lengthOf, placeAt } from '../stages/joints/rail-strips.js';
import { carrier, carryLine } from '../stages/rails/carry-trace.js';
import { placeOfSample, sampleAt, type TraceLine } from '../stages/rails/centre-line.js';
import { cutPieces, type PieceSpan } from '../stages/rails/cut-pieces.js';
import type { Estimate } from '../units/estimate.js';
import { alongSide, type SideArc } from './adjust-table.js';
import { bridgeHidden } from './bridge-hidden.js';

/** One run on the way to being measured. */
export interface RunDraft {
  readonly trace: RailTrace;
  readonly along: TraceLine;
  readonly found: JointsOfRun;
  readonly spans: readonly PieceSpan[];
}

/** Cuts a run into pieces at its joints. */
export function draftRun(trace: RailTrace, along: TraceLine, found: JointsOfRun): RunDraft {
  const at = (s: number): number => sampleAt(along, s);
  const cuts = found.joints.map((j) => at(j.s));
  const blanks = [
    ...found.joints
      .filter((j) => j.open)
      .map((j) => ({ from: at(j.s - j.gapMm.value / 2), to: at(j.s + j.gapMm.value / 2), hidden: false })),
    ...found.hidden.map((h: HiddenSpan) => ({ from: at(h.fromS), to: at(h.toS), hidden: true })),
  ];
  const spans = cutPieces(trace, cuts, blanks, { from: at(found.fromS), to: at(found.toS) });
  return { trace, along, found, spans };
}

/**
 * A run as its photo shows it, moved to where a camera that was solved anew sees it. Places along its line keep their
 * numbers; how far apart they lie then, the line says.
 */
export function carryDraft(draft: RunDraft, from: Camera, to: Camera, track: TrackProfile): RunDraft {
  const carried = carrier(from, to, track);
  const { along, found } = draft;
  const beyond = (end: EndBeyond): EndBeyond => ({ ...end, ...carried(end) });
  return {
    ...draft,
    along: { ...along, line: carryLine(along.line, carried) },
    found: {
      ...found,
      ...(found.fromBeyond && { fromBeyond: beyond(found.fromBeyond) }),
      ...(found.toBeyond && { toBeyond: beyond(found.toBeyond) }),
    },
  };
}

/** Over so much to both sides it is told how long a millimetre along a line is. */
const stretchMm = 8;

/** A joint's gaps as long as its line has them. */
function asLong(joint: RailJoint, line: CentreLine): RailJoint {
  const [a, b] = [placeAt(line, joint.s - stretchMm), placeAt(line, joint.s + stretchMm)];
  const scale = Math.hypot(b.x - a.x, b.y - a.y) / (2 * stretchMm);
  const scaled = ({ value, u }: Estimate): Estimate => ({ value: scale * value, u });
  const [right, centre, left] = joint.railsMm.map((rail) => rail && scaled(rail));
  return { ...joint, gapMm: scaled(joint.gapMm), railsMm: [right, centre, left] };
}

/** Uncertainty of an open run's own ends, for the pieces that end there. */
function endUOf(found: JointsOfRun, first: boolean, last: boolean): { alongUMm?: number } {
  const alongUMm = Math.max((first && found.fromUMm) || 0, (last && found.toUMm) || 0);
  return alongUMm > 0 ? { alongUMm } : {};
}

/** Farther beyond a trace than this no end of a run is looked for. */
const beyondTraceMm = 50;

/** What is left between two joints that is shorter than this is no piece of track. */
const shortestPieceMm = 8;

/** Pieces with their exact ends: at a joint they reach to the rail ends, elsewhere to the neighbour. */
export function piecesOf(draft: RunDraft, arcs: readonly Arc[], firstArc: number): MeasuredPiece[] {
  const { trace, along, found, spans } = draft;
  const { line } = along;
  const length = lengthOf(line);
  const borders = [
    ...found.joints.flatMap((j: RailJoint) => [j.s - j.gapMm.value / 2, j.s + j.gapMm.value / 2]),
    ...(trace.closed ? [] : [found.fromS, found.toS]),
  ];
  const snapped = (s: number, side: -1 | 1): number => {
    let best = s;
    let distance = 1.5 * trace.stepMm;
    for (const b of borders)
      for (const turn of trace.closed ? [0, length, 2 * length, -length] : [0]) {
        const d = Math.abs(b + turn - s);
        // The start of a piece is the far end of the gap before it, and the other way round.
        const facing = found.joints.some(
          (j) => (side < 0 ? b > j.s - 1e-9 : b < j.s + 1e-9) && Math.abs(b - j.s) <= j.gapMm.value / 2 + 1e-6,
        );
        if (d < distance && (facing || b === found.fromS || b === found.toS)) {
          best = b + turn;
          distance = d;
        }
      }
    return best;
  };
  const pieces = spans.map((span, i) => {
    const arc = arcs[firstArc + i];
    // An open run's own ends may lie beyond the samples of its trace, which need rails on both sides of them.
    const own = (s: number, end: number, atEnd: boolean, side: -1 | 1): number =>
      !trace.closed && atEnd && Math.abs(end - s) < beyondTraceMm ? end : snapped(s, side);
    const a = placeAt(line, own(placeOfSample(along, span.from), found.fromS, i === 0, -1));
    const b = placeAt(line, own(placeOfSample(along, span.to), found.toS, i === spans.length - 1, 1));
    return {
      arc,
      arcIndex: firstArc + i,
      straight: span.straight,
      seen: span.seen,
      fromS: alongArc(arc, a.x, a.y),
      toS: alongArc(arc, b.x, b.y),
      ...endUOf(found, i === 0, i === spans.length - 1),
    };
  });
  return toEndsBeyond(
    bridgeHidden(
      pieces.filter((p) => p.toS - p.fromS >= shortestPieceMm),
      trace.closed,
    ),
    found,
  );
}

/** Lets a run go on straight under what covers its ends, to where its rails end behind it. */
function toEndsBeyond(pieces: MeasuredPiece[], { fromBeyond, toBeyond }: JointsOfRun): MeasuredPiece[] {
  if (pieces.length === 0) return pieces;
  const [first, last] = [pieces[0], pieces[pieces.length - 1]];
  return [
    ...(fromBeyond ? [hiddenBetween(fromBeyond, pointOnArc(first.arc, first.fromS), first, fromBeyond.uMm)] : []),
    ...pieces,
    ...(toBeyond ? [hiddenBetween(pointOnArc(last.arc, last.toS), toBeyond, last, toBeyond.uMm)] : []),
  ];
}

type Place = { readonly x: number; readonly y: number };

function hiddenBetween(a: Place, b: Place, neighbour: MeasuredPiece, alongUMm: number): MeasuredPiece {
  const half = Math.hypot(b.x - a.x, b.y - a.y) / 2;
  const arc: Arc = {
    x: (a.x + b.x) / 2,
    y: (a.y + b.y) / 2,
    headingRad: Math.atan2(b.y - a.y, b.x - a.x),
    curvaturePerMm: 0,
    halfLengthMm: half,
  };
  return { arc, arcIndex: neighbour.arcIndex, straight: true, seen: false, fromS: -half, toS: half, alongUMm };
}

export function measuredRun(id: string, draft: RunDraft, pieces: readonly MeasuredPiece[]): MeasuredRun {
  return {
    id,
    closed: draft.trace.closed,
    photo: draft.trace.photo,
    pieces,
    joints: draft.found.joints.map((j) => asLong(j, draft.along.line)),
    jointPlaces: draft.found.joints.map((j) => placeAt(draft.along.line, j.s)),
    hidden: draft.found.hidden,
  };
}

/** Names sides A, B, C … counter-clockwise and finds their corners. */
export function measuredSides(
  sides: readonly SideArc[],
  arcs: readonly Arc[],
  first: number,
  state: AdjustmentState,
): MeasuredSide[] {
  const lines = sides.map((side, i) => {
    const arc = arcs[first + i];
    const places = side.seen.flatMap(({ photo, side: s }) =>
      s.points.map((p) => alongSide(arc, state, photo, p.px, p.py)),
    );
    return { arc, index: first + i, from: Math.min(...places), to: Math.max(...places) };
  });
  // An outline given by hand has its own order, and may have corners that point inwards.
  const given = sides.every((s) => s.place !== undefined);
  const sideA = firstSide(lines, state);
  if (given) lines.push(...lines.splice(0, lines.indexOf(sideA)));
  else lines.sort((p, q) => turnFrom(sideA, p) - turnFrom(sideA, q));
  return lines.map((line, i) => {
    const before = lines[(i + lines.length - 1) % lines.length];
    const after = lines[(i + 1) % lines.length];
    const start = cornerS(line.arc, before.arc, true, given);
    const stop = cornerS(line.arc, after.arc, false, given);
    const fromCorner = start !== null && Math.abs(start - line.from) < 0.35 * (line.to - line.from) + 120;
    const toCorner = stop !== null && Math.abs(stop - line.to) < 0.35 * (line.to - line.from) + 120;
    return {
      name: String.fromCharCode(65 + i),
      arc: line.arc,
      arcIndex: line.index,
      fromS: fromCorner ? (start as number) : line.from,
      toS: toCorner ? (stop as number) : line.to,
      fromCorner,
      toCorner,
    };
  });
}

interface SideLine {
  readonly arc: Arc;
  readonly from: number;
  readonly to: number;
}

/** Sides at least this long, as a share of the longest, may be the first: which is longest by a hair is chance. */
const longShare = 0.93;

/**
 * The side to start from: of the longest ones that below the first marker, as its number is read, so that a side keeps
 * its name when the table is measured again. A marker square to the table must not decide by a hair either: turned a bit.
 */
function firstSide<S extends SideLine>(lines: readonly S[], state: AdjustmentState): S {
  const longest = Math.max(...lines.map((l) => l.to - l.from));
  const marker = state.markers.reduce((a, b) => (b.id < a.id ? b : a));
  const below = (l: S): number => Math.cos(l.arc.headingRad - marker.turnRad - 0.35);
  return lines.filter((l) => l.to - l.from >= longShare * longest).reduce((a, b) => (below(b) > below(a) ? b : a));
}

function turnFrom(first: SideLine, line: SideLine): number {
  return line === first ? 0 : turnOf(line.arc.headingRad - first.arc.headingRad);
}

function turnOf(angle: number): number {
  const t = angle % (2 * Math.PI);
  return t < 0 ? t + 2 * Math.PI : t;
}

/** Where another side's line crosses, along this one; null when they do not follow each other round a corner. */
export function cornerS(arc: Arc, other: Arc, otherBefore: boolean, inwards: boolean): number | null {
  const turn = otherBefore ? turnOf(arc.headingRad - other.headingRad) : turnOf(other.headingRad - arc.headingRad);
  const outwards = turn > 0.2 && turn < Math.PI - 0.2;
  if (!outwards && !(inwards && turn > Math.PI + 0.2 && turn < 2 * Math.PI - 0.2)) return null;
  const c = Math.cos(arc.headingRad);
  const s = Math.sin(arc.headingRad);
  const nx = -Math.sin(other.headingRad);
  const ny = Math.cos(other.headingRad);
  return (nx * (other.x - arc.x) + ny * (other.y - arc.y)) / (nx * c + ny * s);
}
