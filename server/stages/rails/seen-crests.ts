import type { Camera } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import {
  type AcrossProfile,
  addShifted,
  looksAt,
  type Place,
  profileAcross,
  searchStepMm,
  shiftCount,
  viewAngleAcross,
} from './rail-merit.js';

/** Rails lie this near to the lines given. */
export const crestReachMm = 2.5;

/** Places looked at, at most; at each, profiles of this many samples along the line are laid over each other. */
const mostPlaces = 160;
const overlaid = [-6, -4, -2, 0, 2, 4, 6];

/** Changes of brightness this near to the crest belong to the crest. */
const crestHalfMm = 1.2;

/** Other places of the edges are worth a thought that fit so well, as a share of the best. */
const leastShare = 0.5;

/** Line of places stepwise along a run. */
export interface FollowedLine {
  readonly samples: readonly Place[];
  readonly closed: boolean;
}

/** Where a rail's bright crest may lie off its axis, as the edges tell, millimetres to the left. */
export interface CrestChoice {
  readonly crestMm: number;
  /** How well the edges fit there, as a share of the best. */
  readonly share: number;
}

/** Where the bright crests of the heads lie, against the edges of heads and flanges, at one place. */
export interface SeenCrest {
  readonly place: Place;
  /** Of the lines given, and of its samples. */
  readonly line: number;
  readonly sample: number;
  readonly viewRad: number;
  /** The best first. */
  readonly choices: readonly CrestChoice[];
  /** Whether both edges of the flanges show. */
  readonly showsBothFlanges: boolean;
}

/** How many samples lie from one place at which crests are looked for to the next. */
export function samplesBetweenCrests(lines: readonly FollowedLine[]): number {
  const all = lines.reduce((sum, { samples }) => sum + samples.length, 0);
  return Math.max(1, Math.ceil(all / mostPlaces));
}

/** Measures crests at places evenly along the lines; where the edges do not tell, there is none. */
export function seeCrests(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  lines: readonly FollowedLine[],
): SeenCrest[] {
  const every = samplesBetweenCrests(lines);
  return lines.flatMap(({ samples, closed }, line) =>
    samples.flatMap((place, i) => {
      if (i % every !== 0) return [];
      const near = overlaid
        .map((d) => (closed ? samples[(i + d + samples.length) % samples.length] : samples[i + d]))
        .filter((p) => p !== undefined);
      const seen = crestAt(raster, camera, track, place, near);
      return seen ? [{ ...seen, place, line, sample: i }] : [];
    }),
  );
}

function crestAt(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  place: Place,
  near: readonly Place[],
): Pick<SeenCrest, 'viewRad' | 'choices' | 'showsBothFlanges'> | null {
  const viewRad = viewAngleAcross(camera, place, track.railTopMm);
  const looks = looksAt(camera, track, place, null);
  // Without a flange that shows there is nothing to measure the crest against.
  if (looks.some(({ look }) => look.edges.length < 3)) return null;
  const n = shiftCount(crestReachMm);
  const level = new Float64Array(n);
  const profiles = near.map((p) => profileAcross(raster, camera, track, p, looks, crestReachMm + 1));
  for (const profile of profiles) for (const { offsetMm } of looks) addShifted(level, profile.level, offsetMm, 1);
  const crest = peaksOf(level)[0];
  if (crest === undefined) return null;
  const edges = new Float64Array(n);
  for (const profile of profiles)
    for (const { offsetMm, look } of looks) {
      const slope = slopeBesideCrest(profile, offsetMm + crest.mm);
      for (const edge of look.edges) addShifted(edges, slope, offsetMm + edge.offsetMm, edge.weight);
    }
  const axes = peaksOf(edges);
  if (axes.length === 0) return null;
  const choices = axes.map(({ mm, value }) => ({ crestMm: crest.mm - mm, share: value / axes[0].value }));
  return {
    viewRad,
    choices: choices.filter(({ share }) => share > leastShare),
    showsBothFlanges: looks.every(({ look }) => look.edges.length > 3),
  };
}

function slopeBesideCrest(profile: AcrossProfile, crestMm: number): Float64Array {
  const slope = profile.slope.slice();
  const middle = (slope.length - 1) / 2;
  const from = Math.max(0, Math.floor(middle + (crestMm - crestHalfMm) / searchStepMm) + 1);
  const to = Math.min(slope.length, Math.ceil(middle + (crestMm + crestHalfMm) / searchStepMm));
  for (let k = from; k < to; k++) slope[k] = Math.min(slope[k], 0);
  return slope;
}

/**
 * The places that stand out, millimetres from the middle, to a fraction of a step, the highest first; none where the
 * greatest value lies at a border or some are unknown.
 */
function peaksOf(values: Float64Array): { readonly mm: number; readonly value: number }[] {
  const n = values.length;
  let at = 0;
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(values[i])) return [];
    if (values[i] > values[at]) at = i;
  }
  if (at === 0 || at === n - 1) return [];
  const peaks: { mm: number; value: number }[] = [];
  for (let i = 1; i < n - 1; i++) {
    if (i !== at && !(values[i] >= values[i - 1] && values[i] > values[i + 1])) continue;
    const bend = values[i - 1] - 2 * values[i] + values[i + 1];
    const part = bend < 0 ? (0.5 * (values[i - 1] - values[i + 1])) / bend : 0;
    peaks.push({ mm: (i + part - (n - 1) / 2) * searchStepMm, value: values[i] });
  }
  return peaks.sort((a, b) => b.value - a.value);
}
