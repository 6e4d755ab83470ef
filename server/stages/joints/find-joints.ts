import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine, HiddenSpan, RailJoint } from '../../scene/rail-joint.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import type { Estimate } from '../../units/estimate.js';
import { findSlits } from './closed-joints.js';
import { endsSideBySide, type RailEnd, railEnds } from './rail-end.js';
import { lengthOf, type RailStrip, unrollRails } from './rail-strips.js';
import { makeTemplate, medianOf, unlikeness } from './strip-template.js';

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

/** Gaps longer than this are believed only when every rail shows both ends, square within squareWithinMm. */
const longGapMm = 90;
const squareWithinMm = 1.5;

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
  const strips = unrollRails(raster, camera, track, line, startS, length + extra, {
    stepMm: options.stepMm,
    halfWidthMm: track.headWidthMm * 0.5,
    acrossStepMm: 0.25,
    heightMm: track.railTopMm - track.headWidthMm / 2,
  });
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
    if (!line.closed && span.to >= strips[0].rows - 2) {
      toS = a;
      continue;
    }
    if (line.closed && (a + b) / 2 < 0) continue;
    if (line.closed && (a + b) / 2 >= length) continue;
    const joint =
      b - a <= options.longestGapMm
        ? openJoint(strips, a - startS, b - startS, startS, unlike, track.pinReachMm, options)
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

/** Both ends of each rail at an open gap; null when the ends do not stand square to the track, as a cover's edge. */
function openJoint(
  strips: readonly RailStrip[],
  fromMm: number,
  toMm: number,
  startS: number,
  unlike: readonly Float32Array[],
  pinReachMm: number,
  options: FindJointsOptions,
): RailJoint | null {
  // Where no pin reaches, nothing of a rail may be left; ties and rust leave most of it.
  if (toMm - fromMm > pinReachMm && insideUnlike(unlike, fromMm, toMm, options) < leastUnlikeBeyondPins) return null;
  const own = strips.map((_, r) => ownSpan(unlike[r], fromMm, toMm, options));
  const candidates = (towards: 1 | -1): RailEnd[][] =>
    strips.map((strip, r) =>
      railEnds(strip, towards > 0 ? own[r].from : own[r].to, towards, own[r].to - own[r].from, pinReachMm + 3),
    );
  const before = endsSideBySide(candidates(1), 1);
  const after = endsSideBySide(candidates(-1), -1);
  if (!before || !after) return null;
  const rails: [Estimate | null, Estimate | null, Estimate | null] = [null, null, null];
  strips.forEach((strip, r) => {
    const a = before[r];
    const b = after[r];
    if (a && b && b.at > a.at) rails[strip.rail + 1] = gapOf(a, b);
  });
  const gaps = rails.filter((r) => r !== null).map((r) => r.value);
  const a = meanOf(before.filter((e) => e !== null).map((e) => e.at));
  const b = meanOf(after.filter((e) => e !== null).map((e) => e.at));
  const value = gaps.length > 0 ? meanOf(gaps) : 0;
  if (value < 3 || gaps.length < Math.min(2, strips.length)) return null;
  // A long gap looks much like covered track: all rails must end square there.
  const uneven = gaps.length < strips.length || Math.max(...gaps) - Math.min(...gaps) > squareWithinMm;
  if (value > longGapMm && uneven) return null;
  return { s: startS + (a + b) / 2, open: true, gapMm: { value, u: 0.25 }, railsMm: rails };
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

function meanOf(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / values.length;
}

function gapOf(a: RailEnd, b: RailEnd): Estimate {
  return { value: b.at - a.at, u: Math.hypot(a.uMm, b.uMm) };
}

function ownSpan(
  unlike: Float32Array,
  fromMm: number,
  toMm: number,
  options: FindJointsOptions,
): { from: number; to: number } {
  const middle = Math.round((fromMm + toMm) / 2 / options.stepMm);
  const missing = (i: number): boolean => !(unlike[i] <= options.unlike);
  let from = middle;
  let to = middle;
  const reach = (toMm - fromMm) / 2 / options.stepMm + 8;
  let skipped = 0;
  for (let i = middle; i > middle - reach && i > 0; i--) {
    if (missing(i)) {
      from = i;
      skipped = 0;
    } else if (++skipped * options.stepMm > 5) break;
  }
  skipped = 0;
  for (let i = middle; i < middle + reach && i < unlike.length; i++) {
    if (missing(i)) {
      to = i;
      skipped = 0;
    } else if (++skipped * options.stepMm > 5) break;
  }
  return { from: from * options.stepMm, to: to * options.stepMm };
}
