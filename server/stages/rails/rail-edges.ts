import type { TrackProfile } from '../../scene/track-profile.js';

/** Where the edges of one rail are to be expected, millimetres across from its axis at the height of the axis. */
export interface RailEdge {
  readonly offsetMm: number;
  readonly weight: number;
}

/** The head's sides mirror what is behind them and are poor edges; those of the flange are better. */
const edgeWeight = { head: 0.4, flange: 1.75 };

/**
 * The flange is sheet of this thickness, whose rim shows on the side from which the rail is seen. Common practice, no source;
 * with it the edges that are found lie without bias about the known rails of nine photos.
 */
const flangeSheetMm = 0.3;

/** From so far aslant the flange's edge tells less and less, and nothing in the end. */
const slantRad = { telling: 0.61, mute: 0.84 };
/** It counts so much at least: with less, rails of nine photos and forty more lay no better. */
const leastEdgeShare = 0.4;

/**
 * How much the edges of flanges tell from a slant of the view, 0…1: from far aslant they show behind the head of the next
 * rail, and the shadow of their own rail passes for them.
 */
export function flangeTrust(viewRad: number): number {
  return Math.max(0, Math.min(1, (slantRad.mute - Math.abs(viewRad)) / (slantRad.mute - slantRad.telling)));
}

/** What one rail shows of itself from one direction, millimetres across from its axis at the height of the axis. */
export interface RailLook {
  readonly edges: readonly RailEdge[];
  /** Half the width in which the head's tube is seen. */
  readonly headHalfMm: number;
  /** Where the tube mirrors the light: its bright crest. */
  readonly crestMm: number;
}

/**
 * How a rail looks along a view that slants sideways: both sides of the head's tube, and the sides of its flange where the
 * head does not hide them. The flange lies lower, so that a slanting view shifts it: slope times the difference in
 * height. The tube is seen across its full width, so on the level of its axis it takes up 1/cos of the slant more. Its
 * crest mirrors the light where the surface faces halfway between light and eye, both seen along the rail.
 * @param viewRad slant of the view against the vertical, left positive
 * @param lightRad slant of the light against the vertical, left positive
 * @param crestAsideMm how far left of there the crest is seen
 */
export function railLook(track: TrackProfile, viewRad: number, lightRad: number, crestAsideMm = 0): RailLook {
  const r = track.headWidthMm / 2;
  const viewSlope = Math.tan(viewRad);
  const headHalfMm = r * Math.hypot(1, viewSlope);
  const crestMm = onTube(track, viewRad, crestOffsetMm(track, viewRad, lightRad) + crestAsideMm);
  const edges: RailEdge[] = [
    { offsetMm: -headHalfMm, weight: edgeWeight.head },
    { offsetMm: headHalfMm, weight: edgeWeight.head },
  ];
  if (track.flangeWidthMm !== null && track.flangeTopMm !== null) {
    const drop = track.railTopMm - r - track.flangeTopMm;
    const weight = edgeWeight.flange * Math.max(leastEdgeShare, flangeTrust(viewRad));
    for (const side of [-1, 1]) {
      const facesEye = side * viewSlope > 0;
      const offset = (side * track.flangeWidthMm) / 2 + (drop + (facesEye ? flangeSheetMm : 0)) * viewSlope;
      if (Math.abs(offset) > headHalfMm + 0.6) edges.push({ offsetMm: offset, weight });
    }
  }
  return { edges, headHalfMm, crestMm };
}

/** How far left of its axis a head's tube mirrors the light, millimetres, at the height of the axis. */
export function crestOffsetMm(track: TrackProfile, viewRad: number, lightRad: number): number {
  const r = track.headWidthMm / 2;
  const viewSlope = Math.tan(viewRad);
  const half = (viewRad + lightRad) / 2;
  return onTube(track, viewRad, r * (Math.sin(half) - Math.cos(half) * viewSlope));
}

/** A light that stands low is mirrored near the side of the tube, where the bright line is cut off by the tube's edge. */
function onTube(track: TrackProfile, viewRad: number, crestMm: number): number {
  const farthest = 0.8 * (track.headWidthMm / 2) * Math.hypot(1, Math.tan(viewRad));
  return Math.max(-farthest, Math.min(farthest, crestMm));
}
