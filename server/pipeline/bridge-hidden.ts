import type { MeasuredPiece } from '../scene/measured-layout.js';
import { type Arc, pointOnArc } from '../scene/track-observation.js';

/**
 * Puts one arc in place of what is covered, from the seen track before to the seen track behind it: nothing in the picture
 * says how covered track lies, but both its ends do. What lies at the end of an open run stays as it is.
 * @param pieces in order along the run; neighbours meet
 */
export function bridgeHidden(pieces: readonly MeasuredPiece[], closed: boolean): MeasuredPiece[] {
  const n = pieces.length;
  const known = withoutScraps(pieces, closed);
  if (n === 0 || known.every((p) => p.seen === known[0].seen)) return [...pieces];
  // A closed run is turned so that it begins with seen track.
  const first = closed ? known.findIndex((p) => p.seen) : 0;
  const inOrder = [...known.slice(first), ...known.slice(0, first)];
  const out: MeasuredPiece[] = [];
  for (let i = 0; i < n; i++) {
    if (inOrder[i].seen) {
      out.push(inOrder[i]);
      continue;
    }
    let last = i;
    while (last + 1 < n && !inOrder[last + 1].seen) last++;
    const before = inOrder[i - 1];
    const after = last + 1 < n ? inOrder[last + 1] : closed ? inOrder[0] : undefined;
    if (before && after) out.push(bridge(before, after));
    else out.push(...inOrder.slice(i, last + 1));
    i = last;
  }
  const start = Math.max(0, out.indexOf(known[0]));
  return [...out.slice(start), ...out.slice(0, start)];
}

/** A piece shorter than this that shows beside a cover does not tell how the track under the cover heads, millimetres, … */
const scrapMm = 80;

/** … and one shorter than this hardly breaks the cover. */
const crumbMm = 40;

/** Counts what shows of the track between two covers, or beside one, as covered where it is too short to go by. */
function withoutScraps(pieces: readonly MeasuredPiece[], closed: boolean): MeasuredPiece[] {
  const n = pieces.length;
  const beside = (list: readonly MeasuredPiece[], i: number): boolean =>
    [i - 1, i + 1].some((j) => (closed ? list[(j + n) % n] : list[j])?.seen === false);
  const dropped = (list: readonly MeasuredPiece[], shorterThanMm: number): MeasuredPiece[] =>
    list.map((p, i) => (p.seen && p.toS - p.fromS < shorterThanMm && beside(list, i) ? { ...p, seen: false } : p));
  return dropped(dropped(pieces, crumbMm), scrapMm);
}

/** Less turn than this over a bridge is none, radians: what two straights in line may be off. */
const straightRad = 0.012;

function bridge(before: MeasuredPiece, after: MeasuredPiece): MeasuredPiece {
  const a = pointOnArc(before.arc, before.toS);
  const b = pointOnArc(after.arc, after.fromS);
  const turn = Math.atan2(Math.sin(b.headingRad - a.headingRad), Math.cos(b.headingRad - a.headingRad));
  const straight = Math.abs(turn) < straightRad;
  const chord = Math.hypot(b.x - a.x, b.y - a.y);
  const headingRad = Math.atan2(b.y - a.y, b.x - a.x);
  const lengthMm = straight ? chord : (chord * (turn / 2)) / Math.sin(turn / 2);
  const curvaturePerMm = straight ? 0 : turn / lengthMm;
  const rise = straight ? 0 : (1 - Math.cos(turn / 2)) / curvaturePerMm;
  const arc: Arc = {
    x: (a.x + b.x) / 2 + rise * Math.sin(headingRad),
    y: (a.y + b.y) / 2 - rise * Math.cos(headingRad),
    headingRad,
    curvaturePerMm,
    halfLengthMm: lengthMm / 2,
  };
  return { arc, arcIndex: before.arcIndex, straight, seen: false, fromS: -lengthMm / 2, toS: lengthMm / 2 };
}
