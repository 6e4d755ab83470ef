import type { CentreLine, RailJoint } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import type { JointsOfRun } from './find-joints.js';
import { gapBetween } from './open-gap.js';
import { endShape, findSectionEnd, type SectionEnd } from './rail-end.js';
import { giveBackParts, railParts } from './rail-parts.js';
import { lengthOf, placeOnLine } from './rail-strips.js';
import { settleEnd } from './settled-end.js';

/** How far from the true end a finger may point, millimetres along the track. */
const fingerReachMm = 8;
/** Standard uncertainty of a rail end of which nothing but the finger's place is known. */
const fingerUMm = 2;
/** Rails on both sides of the marks that are looked at. */
const railMm = 30;
/** A mark counts for a run when it lies this near to its centre line. */
const besideMm = 28;

/** Joints after a mark was taken in, and how far it moved along the track, millimetres. */
export interface Marked {
  readonly found: JointsOfRun;
  readonly movedMm: number;
}

/** Place along the centre line nearest to a place of the table, or null when the run does not pass there. */
export function alongRun(line: CentreLine, at: { readonly x: number; readonly y: number }): number | null {
  const n = line.places.length;
  let best = 0;
  let least = Number.POSITIVE_INFINITY;
  line.places.forEach((p, i) => {
    const d = Math.hypot(p.x - at.x, p.y - at.y);
    if (d < least) {
      least = d;
      best = i;
    }
  });
  const p = line.places[best];
  const ahead = (at.x - p.x) * Math.cos(p.headingRad) + (at.y - p.y) * Math.sin(p.headingRad);
  const aside = -(at.x - p.x) * Math.sin(p.headingRad) + (at.y - p.y) * Math.cos(p.headingRad);
  if (Math.abs(aside) > besideMm || Math.abs(ahead) > besideMm) return null;
  const s = best * line.stepMm + ahead;
  return line.closed ? (s + n * line.stepMm) % (n * line.stepMm) : s;
}

/**
 * Takes in an open gap whose two rail ends a person marked: each rail's ends are looked for beside the marks as at gaps
 * found without help. Joints and covered stretches found there before give way.
 * @param a where the rails end, along the centre line
 * @param b where they begin again
 */
export function withGap(run: RunInPhoto, found: JointsOfRun, a: number, b: number): Marked {
  const length = lengthOf(run.line);
  let [from, to] = a <= b ? [a, b] : [b, a];
  // On a loop the shorter way round is the gap.
  if (run.line.closed && to - from > length / 2) [from, to] = [to, from + length];
  const start = from - railMm - fingerReachMm;
  const views = railParts(run, start, to + railMm + fingerReachMm, endShape);
  const reach = Math.min(fingerReachMm, 0.45 * (to - from));
  const settled = (at: number, towards: 1 | -1): SectionEnd | null => {
    const end = findSectionEnd(views, at - start, towards, to - from, reach);
    return end && settleEnd(views, end, towards, to - from);
  };
  const before = settled(from, 1);
  const after = settled(to, -1);
  const endA = before ? before.at + start : from;
  const endB = after ? after.at + start : to;
  const joint: RailJoint =
    before && after
      ? gapBetween(views, before, after, start)
      : {
          s: (endA + endB) / 2,
          open: true,
          gapMm: { value: endB - endA, u: Math.hypot(before?.uMm ?? fingerUMm, after?.uMm ?? fingerUMm) },
          railsMm: [null, null, null],
        };
  giveBackParts(views);
  const movedMm = Math.max(Math.abs(endA - from), Math.abs(endB - to));
  return { found: withJoint(found, { ...joint, s: placeOnLine(run.line, joint.s) }, length, run.line.closed), movedMm };
}

/**
 * Takes in one rail end: of a gap that was found, whose other end stays, or the end of an open run.
 * @returns null when the run has neither near the mark
 */
export function withRailEnd(run: RunInPhoto, found: JointsOfRun, s: number): Marked | null {
  const half = (j: RailJoint): number => j.gapMm.value / 2;
  const near = found.joints
    .filter((j) => j.open)
    .map((j) => ({ j, before: Math.abs(j.s - half(j) - s), after: Math.abs(j.s + half(j) - s) }))
    .filter(({ before, after }) => Math.min(before, after) < 30)
    .sort((p, q) => Math.min(p.before, p.after) - Math.min(q.before, q.after))[0];
  if (near) {
    const { j, before, after } = near;
    return before < after ? withGap(run, found, s, j.s + half(j)) : withGap(run, found, j.s - half(j), s);
  }
  if (run.line.closed) return null;
  const atEnd = found.toS - s < s - found.fromS;
  if (Math.min(Math.abs(found.toS - s), Math.abs(s - found.fromS)) > 300) return null;
  const start = s - railMm - fingerReachMm;
  const views = railParts(run, start, s + railMm + fingerReachMm, endShape);
  const towards = atEnd ? 1 : -1;
  const rough = findSectionEnd(views, s - start, towards, railMm, fingerReachMm);
  const own = rough && settleEnd(views, rough, towards, railMm);
  giveBackParts(views);
  const end = own ? own.at + start : s;
  const uMm = own ? own.uMm : fingerUMm;
  const ends = atEnd ? { ...found, toS: end, toUMm: uMm } : { ...found, fromS: end, fromUMm: uMm };
  const joints = found.joints.filter((j) => j.s > ends.fromS && j.s < ends.toS);
  const hidden = found.hidden.filter((h) => h.toS > ends.fromS && h.fromS < ends.toS);
  return { found: { ...ends, joints, hidden }, movedMm: Math.abs(end - s) };
}

/** Takes out the open gap at a place; null when there is none. */
export function withoutGap(found: JointsOfRun, s: number): JointsOfRun | null {
  const joints = found.joints.filter((j) => !(j.open && Math.abs(j.s - s) < j.gapMm.value / 2 + 20));
  return joints.length === found.joints.length ? null : { ...found, joints };
}

function withJoint(found: JointsOfRun, joint: RailJoint, length: number, closed: boolean): JointsOfRun {
  const reach = joint.gapMm.value / 2 + 8;
  const apart = (s: number): number => {
    const d = Math.abs(s - joint.s);
    return closed ? Math.min(d, length - d) : d;
  };
  const joints = found.joints.filter((j) => apart(j.s) > reach + (j.open ? j.gapMm.value / 2 : 0));
  const hidden = found.hidden.filter((h) => apart((h.fromS + h.toS) / 2) > reach + (h.toS - h.fromS) / 2);
  return { ...found, hidden, joints: [...joints, joint].sort((p, q) => p.s - q.s) };
}
