import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine, RailJoint } from '../../scene/rail-joint.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import type { Estimate } from '../../units/estimate.js';
import type { JointsOfRun } from './find-joints.js';
import { endsSideBySide, type RailEnd, railEnds } from './rail-end.js';
import { lengthOf, type RailStrip, unrollRails } from './rail-strips.js';

/** How far from the true end a finger may point, millimetres along the track. */
const fingerReachMm = 8;
/** Standard uncertainty of a rail end of which nothing but the finger's place is known. */
const fingerUMm = 2;
/** Rails on both sides of the marks that are looked at. */
const railMm = 30;
/** A mark counts for a run when it lies this near to its centre line. */
const besideMm = 28;

/** What is to be measured from: one photo and a run's centre line in it. */
export interface RunInPhoto {
  readonly raster: Raster;
  readonly camera: Camera;
  readonly track: TrackProfile;
  readonly line: CentreLine;
}

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
  const strips = stripsOf(run, start, to + railMm + fingerReachMm);
  const before = endsNear(strips, from - start, 1, to - from, run.track);
  const after = endsNear(strips, to - start, -1, to - from, run.track);
  const rails: [Estimate | null, Estimate | null, Estimate | null] = [null, null, null];
  strips.forEach((strip, r) => {
    const [p, q] = [before?.[r], after?.[r]];
    if (p && q && q.at > p.at) rails[strip.rail + 1] = { value: q.at - p.at, u: Math.hypot(p.uMm, q.uMm) };
  });
  const endA = before ? meanAt(before) + start : from;
  const endB = after ? meanAt(after) + start : to;
  const seen = rails.filter((r) => r !== null).map((r) => r.value);
  const value = seen.length > 0 ? seen.reduce((x, y) => x + y, 0) / seen.length : endB - endA;
  const u = Math.hypot(0.25, before ? 0 : fingerUMm, after ? 0 : fingerUMm);
  const s = ((endA + endB) / 2) % length;
  const joint: RailJoint = { s, open: true, gapMm: { value, u }, railsMm: rails };
  const movedMm = Math.max(Math.abs(endA - from), Math.abs(endB - to));
  return { found: withJoint(found, joint, length, run.line.closed), movedMm };
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
  const strips = stripsOf(run, start, s + railMm + fingerReachMm);
  const ends = endsNear(strips, s - start, atEnd ? 1 : -1, railMm, run.track);
  const end = ends ? meanAt(ends) + start : s;
  const [fromS, toS] = atEnd ? [found.fromS, end] : [end, found.toS];
  const joints = found.joints.filter((j) => j.s > fromS && j.s < toS);
  const hidden = found.hidden.filter((h) => h.toS > fromS && h.fromS < toS);
  return { found: { joints, hidden, fromS, toS }, movedMm: Math.abs(end - s) };
}

/** Takes out the open gap at a place; null when there is none. */
export function withoutGap(found: JointsOfRun, s: number): JointsOfRun | null {
  const joints = found.joints.filter((j) => !(j.open && Math.abs(j.s - s) < j.gapMm.value / 2 + 20));
  return joints.length === found.joints.length ? null : { ...found, joints };
}

function stripsOf({ raster, camera, track, line }: RunInPhoto, fromS: number, toS: number): RailStrip[] {
  return unrollRails(raster, camera, track, line, fromS, toS, {
    stepMm: 0.5,
    halfWidthMm: track.headWidthMm * 0.5,
    acrossStepMm: 0.25,
    heightMm: track.railTopMm - track.headWidthMm / 2,
  });
}

/** The ends of the rails within a finger's reach of a mark; the search begins beyond the mark and goes back to the rail. */
function endsNear(
  strips: readonly RailStrip[],
  markMm: number,
  towards: 1 | -1,
  gapMm: number,
  track: TrackProfile,
): readonly (RailEnd | null)[] | null {
  const ahead = Math.min(fingerReachMm, gapMm / 2);
  const candidates = strips.map((strip) =>
    railEnds(
      strip,
      markMm + towards * ahead,
      towards,
      gapMm - ahead,
      Math.min(track.pinReachMm + 3, 2 * fingerReachMm),
    ).filter((end) => Math.abs(end.at - markMm) <= fingerReachMm),
  );
  return endsSideBySide(candidates, towards);
}

function meanAt(ends: readonly (RailEnd | null)[]): number {
  const seen = ends.filter((e) => e !== null);
  return seen.reduce((sum, e) => sum + e.at, 0) / seen.length;
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
