import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { greyLevels } from '../../images/grey-pyramid.js';
import { cellRows, type PlanGrid } from '../../images/plan-sampling.js';
import type { Raster } from '../../images/raster.js';
import type { RailTrace } from '../../scene/rail-trace.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../scene/track-profile.js';
import { middleLine } from './centre-line.js';
import { crestInLight, findLight, lightOverhead } from './find-light.js';
import { layCrests } from './lay-crests.js';
import type { RailLikeness } from './likeness-tiles.js';
import { cellsNeeded, promisingPlaces } from './promising-places.js';
import { findLikenessWhere, findRailLikeness, LikenessFinder, type LikenessOptions } from './rail-likeness.js';
import { aloneWithRails, type RailWorks } from './rail-works.js';
import { measureRails, type RefineSteps, refinePath } from './refine-path.js';
import { seeCrests } from './seen-crests.js';
import { tracePaths } from './trace-path.js';

export interface FindRailsOptions {
  /** Scale of the plan that rails are looked for in: a rail head is three pixels wide. */
  readonly mmPerPx: number;
  /** Farthest from the first marker that is looked at. */
  readonly reachMm: number;
  /** Longest open gap or covered stretch that is followed across without a break. */
  readonly bridgeMm: number;
  readonly shortestMm: number;
  readonly stepMm: number;
  /** How far the rails may lie from the path seen on the plan: more than one rail spacing, for where it took the wrong three. */
  readonly sidewaysMm: number;
}

export const defaultFindRailsOptions: FindRailsOptions = {
  mmPerPx: 1.3,
  reachMm: 3500,
  bridgeMm: 120,
  shortestMm: 120,
  stepMm: 8,
  sidewaysMm: 22,
};

/** Finds all track in one photo without a hint, and follows it at full resolution. */
export function findRails(
  raster: Raster,
  photo: number,
  camera: Camera,
  track: TrackProfile,
  options: FindRailsOptions,
  signal?: AbortSignal,
  works: RailWorks = aloneWithRails,
): RailTrace[] {
  const height = track.railTopMm - track.headWidthMm / 2;
  const { mmPerPx } = options;
  const grid = gridOfPhoto(raster, camera, height, mmPerPx, options.reachMm);
  const likeness = likenessOf(raster, camera, grid, height, track, works, signal);
  const paths = tracePaths(likeness, {
    stepPx: 10 / mmPerPx,
    bridgePx: options.bridgeMm / mmPerPx,
    halfTrackPx: (outerHeadOffsetMm(track) + 6) / mmPerPx,
    shortestPx: options.shortestMm / mmPerPx,
  });
  const lines = paths.map((path) => ({
    closed: path.closed,
    line: path.points.map((p) => ({ x: grid.x0 + p.x * mmPerPx, y: grid.y1 - p.y * mmPerPx })),
  }));
  return followLines(raster, photo, camera, track, lines, options, signal, works);
}

/** On a plan of half the resolution fewer directions are told apart; averaged is as far along the track. */
const coarseOptions: LikenessOptions = { directionCount: 16, alongHalfPx: 6 };

/** Looks for rails on a plan of half the resolution first, and closely only where something may be. */
function likenessOf(
  raster: Raster,
  camera: Camera,
  grid: PlanGrid,
  heightMm: number,
  track: TrackProfile,
  works: RailWorks,
  signal?: AbortSignal,
): RailLikeness {
  const spacingPx = ((track.railCount === 3 ? 1 : 2) * outerHeadOffsetMm(track)) / grid.mmPerPx;
  const half: PlanGrid = {
    ...grid,
    mmPerPx: 2 * grid.mmPerPx,
    widthPx: (grid.widthPx + 1) >> 1,
    heightPx: (grid.heightPx + 1) >> 1,
  };
  const finder = new LikenessFinder(works.turns);
  try {
    const levels = greyLevels(raster);
    const fillHalf = (out: Float32Array): void =>
      works.plan({ levels, camera, grid: half, heightMm, out, needed: null }, cellRows(half));
    const coarse = findRailLikeness(finder, half, spacingPx / 2, track.railCount, fillHalf, coarseOptions, signal);
    const wanted = promisingPlaces(coarse, grid);
    const needed = cellsNeeded(wanted, spacingPx);
    const fill = (out: Float32Array): void =>
      works.plan({ levels, camera, grid, heightMm, out, needed }, cellRows(grid));
    return findLikenessWhere(finder, wanted, spacingPx, track.railCount, fill, signal);
  } finally {
    finder.end();
  }
}

/** A rough centre line, table frame at the height of the rail axes. */
export interface RoughLine {
  readonly line: readonly { readonly x: number; readonly y: number }[];
  readonly closed: boolean;
}

/** Moves rough lines of one photo onto the rails. */
export function followLines(
  raster: Raster,
  photo: number,
  camera: Camera,
  track: TrackProfile,
  lines: readonly RoughLine[],
  options: Pick<FindRailsOptions, 'sidewaysMm' | 'stepMm'>,
  signal?: AbortSignal,
  works: RailWorks = aloneWithRails,
): RailTrace[] {
  if (lines.length === 0) return [];
  // Luma is what a JPEG file keeps at full resolution, and a third of what three channels take to look up.
  const [grey] = greyLevels(raster);
  // Where the light stands is found once the rails are followed as if it stood overhead, and they are followed again with it.
  const overhead = lightOverhead(lines.flatMap(({ line }) => line));
  const { stepMm } = options;
  const rough = { reachMm: options.sidewaysMm, isRough: true, passes: 3, stepMm, light: overhead };
  const followed = lines.map(({ line, closed }) => ({
    closed,
    samples: refinePath(grey, camera, track, line, closed, rough, signal, works),
  }));
  const crests = seeCrests(grey, camera, track, followed);
  const { light, tellsCrests } = findLight(grey, camera, track, followed, crests);
  const aside = tellsCrests ? layCrests(followed, crests, (crest) => crestInLight(track, light, crest)) : null;
  const again = { ...stepsAgain, stepMm, light };
  return followed.map(({ closed, samples }, i) => {
    const line = aside ? samples.map((place, k) => ({ ...place, crestAsideMm: aside[i][k] })) : samples;
    const places = refinePath(grey, camera, track, line, closed, again, signal, works);
    return { photo, closed, stepMm, light, samples: measureRails(grey, camera, track, places, light, works) };
  });
}

/** How far a light that stands elsewhere than overhead may have drawn the first rough path off the rails. */
const stepsAgain: RefineSteps = { reachMm: 3, isRough: false, passes: 2 };

/** A better camera moves the rails less than this. */
const stepsWithCamera: RefineSteps = { reachMm: 1.5, isRough: false, passes: 2 };

/** Follows a trace again with a better camera; the trace has been carried over to it. */
export function refineTrace(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  trace: RailTrace,
  signal?: AbortSignal,
  works: RailWorks = aloneWithRails,
): RailTrace {
  const [grey] = greyLevels(raster);
  const { stepMm, light } = trace;
  const steps = { ...stepsWithCamera, stepMm, light };
  const line = middleLine(trace).map((p, i) => ({ ...p, crestAsideMm: trace.samples[i].crestAsideMm }));
  const places = refinePath(grey, camera, track, line, trace.closed, steps, signal, works);
  return { ...trace, samples: measureRails(grey, camera, track, places, light, works) };
}

/** The rectangle of the table that a photo shows, at a height, no farther than reachMm from the origin. */
export function gridOfPhoto(
  raster: Raster,
  camera: Camera,
  heightMm: number,
  mmPerPx: number,
  reachMm: number,
): PlanGrid {
  let [x0, x1, y0, y1] = [
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
  ];
  for (let i = 0; i <= 8; i++)
    for (let j = 0; j <= 8; j++) {
      if (i % 8 !== 0 && j % 8 !== 0) continue;
      const p = tableFromPhotoAtHeight(
        camera,
        (i / 8) * (raster.widthPx - 1),
        (j / 8) * (raster.heightPx - 1),
        heightMm,
      );
      if (!Number.isFinite(p.x + p.y)) continue;
      x0 = Math.min(x0, p.x);
      x1 = Math.max(x1, p.x);
      y0 = Math.min(y0, p.y);
      y1 = Math.max(y1, p.y);
    }
  x0 = Math.max(x0, -reachMm);
  x1 = Math.min(x1, reachMm);
  y0 = Math.max(y0, -reachMm);
  y1 = Math.min(y1, reachMm);
  return {
    x0,
    y1,
    mmPerPx,
    widthPx: Math.max(2, Math.ceil((x1 - x0) / mmPerPx)),
    heightPx: Math.max(2, Math.ceil((y1 - y0) / mmPerPx)),
  };
}
