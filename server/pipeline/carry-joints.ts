import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../geometry/camera.js';
import type { RailJoint } from '../scene/rail-joint.js';
import type { TrackProfile } from '../scene/track-profile.js';
import type { JointsOfRun } from '../stages/joints/find-joints.js';
import { placeOfSample, sampleAt, type TraceLine } from '../stages/rails/centre-line.js';
import type { Estimate } from '../units/estimate.js';

/** The centre line of a trace, and the camera with which it lies there. */
export interface SolvedLine {
  readonly along: TraceLine;
  readonly camera: Camera;
}

/**
 * Joints are found along a run's centre line as one camera sees it. When the camera is solved anew and the trace carried
 * over to it, the same samples lie elsewhere: this carries the joints over. Gaps grow and shrink as the line around them
 * does.
 * @param to the same trace, sample by sample, with the other camera
 */
export function carryJoints(found: JointsOfRun, from: SolvedLine, to: SolvedLine, track: TrackProfile): JointsOfRun {
  const at = (s: number): number => placeOfSample(to.along, sampleAt(from.along, s));
  const heightMm = track.railTopMm - track.headWidthMm / 2;
  const carried = ({ x, y }: { readonly x: number; readonly y: number }): { x: number; y: number } => {
    const p = photoFromTable(from.camera, x, y, heightMm);
    return tableFromPhotoAtHeight(to.camera, p.x, p.y, heightMm);
  };
  const { fromBeyond, toBeyond } = found;
  return {
    ...found,
    joints: found.joints.map((joint) => carriedJoint(joint, at)),
    hidden: found.hidden.map((h) => ({ fromS: at(h.fromS), toS: at(h.toS) })),
    fromS: at(found.fromS),
    toS: at(found.toS),
    ...(fromBeyond && { fromBeyond: { ...fromBeyond, ...carried(fromBeyond) } }),
    ...(toBeyond && { toBeyond: { ...toBeyond, ...carried(toBeyond) } }),
  };
}

/** Half the stretch of line that tells how much it grew, millimetres: over less, the line's own ripple would count. */
const growthHalfMm = 50;

function carriedJoint(joint: RailJoint, at: (s: number) => number): RailJoint {
  const growth = (at(joint.s + growthHalfMm) - at(joint.s - growthHalfMm)) / (2 * growthHalfMm);
  const grown = ({ value, u }: Estimate): Estimate => ({ value: value * growth, u: u * growth });
  const [right, centre, left] = joint.railsMm;
  return {
    ...joint,
    s: at(joint.s),
    gapMm: grown(joint.gapMm),
    railsMm: [right && grown(right), centre && grown(centre), left && grown(left)],
  };
}
