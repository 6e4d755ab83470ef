import type { TrackProfile } from '../../scene/track-profile.js';
import { outerHeadOffsetMm } from '../../scene/track-profile.js';

/** Where the edges of one rail are to be expected, millimetres across from its axis at the height of the axis. */
export interface RailEdge {
  readonly offsetMm: number;
  readonly weight: number;
}

/**
 * Edges that one rail shows: both sides of the head, and the sides of its flange where the head does not hide them. The
 * flange lies lower, so that a slanting view shifts it: lateral view slope times the difference in height.
 * @param viewSlope sideways run of the view ray for each millimetre of height, left positive
 */
export function visibleRailEdges(track: TrackProfile, viewSlope: number): RailEdge[] {
  const r = track.headWidthMm / 2;
  const edges: RailEdge[] = [
    { offsetMm: -r, weight: 1 },
    { offsetMm: r, weight: 1 },
  ];
  if (track.flangeWidthMm !== null && track.flangeTopMm !== null) {
    const drop = track.railTopMm - r - track.flangeTopMm;
    for (const side of [-1, 1]) {
      const offset = (side * track.flangeWidthMm) / 2 + drop * viewSlope;
      if (Math.abs(offset) > r + 0.6) edges.push({ offsetMm: offset, weight: 1 });
    }
  }
  return edges;
}

/** Offsets of the rails' axes from the centre line, right to left. */
export function railOffsets(track: TrackProfile): readonly { rail: -1 | 0 | 1; offsetMm: number }[] {
  const outer = outerHeadOffsetMm(track);
  const all = [
    { rail: -1, offsetMm: -outer },
    { rail: 0, offsetMm: 0 },
    { rail: 1, offsetMm: outer },
  ] as const;
  return track.railCount === 3 ? all : [all[0], all[2]];
}
