import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine, HiddenSpan, RailJoint } from '../../scene/rail-joint.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { findSlits } from './closed-joints.js';
import { endViews } from './end-views.js';
import { gapBetween } from './open-gap.js';
import { type EndView, findSectionEnd } from './rail-end.js';
import { lengthOf, unrollRails } from './rail-strips.js';
import { makeTemplate, medianOf, unlikeness } from './strip-template.js';
import { tableInGap } from './table-in-gap.js';

export interface FindJointsOptions {
  readonly stepMm: number;
  /** A row is taken for 'no rail' beyond this unlikeness. */
  readonly unlike: number;
  readonly shortestGapMm: number;
  /** Longer stretches without rails are taken for covered track. */
  readonly longestGapMm: number;
}

export const defaultFindJointsOptions: FindJointsOptions = {
  stepMm: 0.5,
  unlike: 0.45,
  shortestGapMm: 5,
  longestGapMm: 160,
};

export interface JointsOfRun {
  readonly joints: readonly RailJoint[];
  readonly hidden: readonly HiddenSpan[];
  /** First and last place with rails, along the centre line; the whole of a closed run. */
  readonly fromS: number;
  readonly toS: number;
}

/** A stretch longer than the pins is a gap only when its rows are this unlike the rails. */
const leastUnlikeBeyondPins = 0.6;

/** An end less clear than this is none. */
const leastClearness = 0.11;

/** A long gap looks much like covered track: its ends must be clearer. */
const longGapMm = 90;
const longGapClearness = 0.25;

/** Share of an open gap's places that must look like table. */
const leastTable = 0.7;

/** How far beyond the ends of an open line rails are still looked for. */
const beyondEndsMm = 40;

/** Finds open gaps, closed joints, covered stretches and the two ends of one run in one photo. */
export function findJoints(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: CentreLine,
  options: FindJointsOptions = defaultFindJointsOptions,
): JointsOfRun {
  const length = lengthOf(line);
  const extra = line.closed ? 100 : beyondEndsMm;
  const startS = -extra;
  const views = endViews(raster, camera, track, line, startS, length + extra, options.stepMm);
  const wide = unrollRails(raster, camera, track, line, startS, length + extra, {
    stepMm: options.stepMm,
    halfWidthMm: (track.flangeWidthMm ?? 2 * track.headWidthMm) / 2 + 3,
    acrossStepMm: 0.5,
    heightMm: track.railTopMm - track.headWidthMm / 2,
  });
  // A rusty head may look unlike itself in spots, and a tie covers the flange; where rails are missing both are gone.
  const heads = unrollRails(raster, camera, track, line, startS, length + extra, {
    stepMm: options.stepMm,
    halfWidthMm: track.headWidthMm * 0.5 + 1,
    acrossStepMm: 0.25,
    heightMm: track.railTopMm - track.headWidthMm / 2,
  });
  const unlike = heads.map((strip, r) => {
    const head = unlikeness(strip, makeTemplate(strip, 60), 1);
    const whole = unlikeness(wide[r], makeTemplate(wide[r], 60), 3);
    return head.map((v, i) => (Number.isNaN(v + whole[i]) ? Number.NaN : Math.min(v, 1.1 * whole[i])));
  });
  const spans = missingSpans(unlike, options);
  const joints: RailJoint[] = [];
  const hidden: HiddenSpan[] = [];
  let fromS = 0;
  let toS = length;
  for (const span of spans) {
    const a = startS + span.from * options.stepMm;
    const b = startS + span.to * options.stepMm;
    if (!line.closed && span.from <= 1) {
      fromS = b;
      continue;
    }
    if (!line.closed && span.to >= heads[0].rows - 2) {
      toS = a;
      continue;
    }
    if (line.closed && (a + b) / 2 < 0) continue;
    if (line.closed && (a + b) / 2 >= length) continue;
    const joint =
      b - a <= options.longestGapMm
        ? openJoint(
            raster,
            camera,
            track,
            line,
            views,
            a - startS,
            b - startS,
            startS,
            unlike,
            track.pinReachMm,
            options,
          )
        : null;
    if (joint) joints.push(joint);
    else if (b - a >= 12) hidden.push({ fromS: a, toS: b });
  }
  const taken = [
    ...joints.map((j) => [j.s - j.gapMm.value / 2 - 8, j.s + j.gapMm.value / 2 + 8]),
    ...hidden.map((h) => [h.fromS - 4, h.toS + 4]),
  ];
  for (const slit of findSlits(raster, camera, track, line, fromS, toS))
    if (!taken.some(([a, b]) => slit.s > a && slit.s < b)) joints.push(slit);
  joints.sort((p, q) => p.s - q.s);
  return { joints, hidden, fromS, toS };
}

/** Rows where most rails are missing, joined over interruptions shorter than a rail's width. */
function missingSpans(unlike: readonly Float32Array[], options: FindJointsOptions): { from: number; to: number }[] {
  const rows = unlike[0].length;
  const missing = (i: number): boolean => {
    const values = unlike.map((u) => (Number.isNaN(u[i]) ? 9 : u[i]));
    return medianOf(values) > options.unlike;
  };
  const spans: { from: number; to: number }[] = [];
  for (let i = 0; i < rows; i++) {
    if (!missing(i)) continue;
    const last = spans[spans.length - 1];
    if (last && (i - last.to) * options.stepMm < 5) last.to = i;
    else spans.push({ from: i, to: i });
  }
  return spans.filter(
    (s) => (s.to - s.from) * options.stepMm >= options.shortestGapMm || s.from <= 1 || s.to >= rows - 2,
  );
}

/** How far from the rough end of a gap the rails' end may be: a pin, or rust, may have passed for rail, or the other way. */
const endReachMm = 16;

/** Both ends of each rail at an open gap; null when there are none, as at the edges of a cover. */
function openJoint(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: CentreLine,
  views: readonly EndView[],
  fromMm: number,
  toMm: number,
  startS: number,
  unlike: readonly Float32Array[],
  pinReachMm: number,
  options: FindJointsOptions,
): RailJoint | null {
  // Where no pin reaches, nothing of a rail may be left; ties and rust leave most of it.
  if (toMm - fromMm > pinReachMm && insideUnlike(unlike, fromMm, toMm, options) < leastUnlikeBeyondPins) return null;
  const width = toMm - fromMm;
  const before = findSectionEnd(views, fromMm, 1, width, endReachMm, 0.4 * width);
  const after = findSectionEnd(views, toMm, -1, width, endReachMm, 0.4 * width);
  if (!before || !after) return null;
  const value = after.at - before.at;
  if (value < options.shortestGapMm - 2) return null;
  const clearness = Math.min(before.clearness, after.clearness);
  if (clearness < (value > longGapMm ? longGapClearness : leastClearness)) return null;
  if (tableInGap(raster, camera, track, line, startS + before.at, startS + after.at) < leastTable) return null;
  return gapBetween(views, before, after, startS + (before.at + after.at) / 2);
}

/** Median over a stretch of how unlike the rails its rows are, of the middle rail of each row. */
function insideUnlike(
  unlike: readonly Float32Array[],
  fromMm: number,
  toMm: number,
  options: FindJointsOptions,
): number {
  const rows: number[] = [];
  for (let i = Math.round(fromMm / options.stepMm); i <= Math.round(toMm / options.stepMm); i++)
    rows.push(medianOf(unlike.map((u) => u[i])));
  return medianOf(rows);
}
