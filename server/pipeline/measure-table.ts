import { compileLess } from '../base/engine-options.js';
import { failed, ok, type Result } from '../base/result.js';
import type { Corrections } from '../contract/corrections.js';
import type { PlanView } from '../contract/plan-view.js';
import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { SideCheck, TapeCheck } from '../contract/tables.js';
import { type Camera, photoFromTable } from '../geometry/camera.js';
import { alignColours } from '../images/align-colours.js';
import { giveBackLevels } from '../images/grey-pyramid.js';
import { sharedRaster } from '../images/share-raster.js';
import { giveBack } from '../images/spare-memory.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { MeasuredLayout } from '../scene/measured-layout.js';
import type { Photo } from '../scene/photo.js';
import type { RailTrace } from '../scene/rail-trace.js';
import type { TrackProfile } from '../scene/track-profile.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import type { SideTapeObservation } from '../stages/camera/side-length.js';
import { type DoubtedLenses, doubtedByLook, noDoubts, startCamera } from '../stages/camera/start-camera.js';
import type { ArcSpan } from '../stages/camera/track-arcs.js';
import { measureFringes, mustBeAligned } from '../stages/markers/colour-fringes.js';
import { detectMarkers } from '../stages/markers/detect-markers.js';
import { smallestClearances } from '../stages/measurements/distances.js';
import { openPhoto } from '../stages/photo/open-photo.js';
import { drawPlanView, encodePlanView } from '../stages/plan-view/draw-plan-view.js';
import { carryTrace } from '../stages/rails/carry-trace.js';
import { centreLineOf } from '../stages/rails/centre-line.js';
import { cutEvenly } from '../stages/rails/cut-pieces.js';
import { defaultFindRailsOptions, findRails, refineTrace } from '../stages/rails/find-rails.js';
import { joinTraces, plausibleTraces } from '../stages/rails/join-traces.js';
import { tracesApart } from '../stages/rails/traces-apart.js';
import { adjustTable, type SideArc } from './adjust-table.js';
import { HandCorrections } from './apply-corrections.js';
import { acrossUMm, arcCovarianceOf, rmsOfPhotos, withDoubts } from './covariances.js';
import { coverageOf } from './coverage-of.js';
import { drawInTwo } from './draw-beside.js';
import { findJointsInTwo } from './joints-in-two.js';
import { judgeMarkers } from './judge-markers.js';
import { carryDraft, draftRun, measuredRun, measuredSides, piecesOf, type RunDraft } from './layout-parts.js';
import { type EdgeInPhoto, lookForEdge, type ReducedBeside, reduceBeside } from './look-for-edge.js';
import { railsMisfit } from './marker-side.js';
import { mergeRuns } from './merge-runs.js';
import { paperPlaces } from './paper-places.js';
import { type MeasureHooks, progressSteps } from './progress-steps.js';
import { railsInTwo } from './rails-in-two.js';
import { secondThread } from './second-thread.js';
import { doubtsOf, sidesThatAgree } from './sides-agree.js';
import { sidesAroundTrack } from './sides-around-track.js';
import { solvedTableOf } from './solved-table.js';
import { adjustWithCorners, type CorneredAdjustment } from './square-corners.js';
import { judgeTapes, noTapes, sideTapesOf, tapesLeftOut, tapesOf } from './tapes.js';
import { reasonsOf, warningsOf } from './warnings.js';
import { placesShown, reportShift, writeReport } from './write-report.js';

export interface MeasureOptions {
  readonly track: TrackProfile;
  readonly markerSideMm: number;
  readonly tapeChecks: readonly TapeCheck[];
  readonly sideChecks?: readonly SideCheck[];
  /** The user says that the corners of the table are square. */
  readonly squareCorners?: boolean;
  /** Width of the markers' black border, modules. */
  readonly borderModules: 1 | 2;
  /** Made by hand; photos by the name of their file. */
  readonly corrections?: Corrections;
}

/** A photo as it was taken, by the name of its file. */
interface PhotoFile {
  readonly name: string;
  readonly bytes: Uint8Array;
}

export interface MeasuredTable {
  readonly report: Report;
  readonly planView: PlanView;
  readonly planViewJpeg: Uint8Array;
}

/** Of more photos than this none is reduced before it is needed: each takes 20 MB. */
const mostReduced = 3;

/** Of a trace of which no more is left, once it is followed with a better camera, no line can be made. */
const fewestSamples = 3;

/** Length of the arcs that stand for track before its joints are known. */
const evenArcMm = 150;

/**
 * The whole story: photos of one table in, the measurement report out. Each step is a stage of its own folder; what they
 * hand on is in `scene`.
 *
 *     const measured = await measureTable([{ name: 'IMG_1.jpg', bytes }], options, {});
 *     if (measured.ok) console.log(measured.value.report.joints);
 */
export async function measureTable(
  files: readonly PhotoFile[],
  options: MeasureOptions,
  hooks: MeasureHooks,
): Promise<Result<MeasuredTable, Problem>> {
  if (files.length === 0) return failed(problem('no-photos', {}));
  const photos: Photo[] = [];
  try {
    return await measurePhotos(files, photos, options, hooks);
  } finally {
    for (const photo of photos) giveBackLevels(photo.raster);
  }
}

/** @param photos takes the photos in as they are opened */
async function measurePhotos(
  files: readonly PhotoFile[],
  photos: Photo[],
  options: MeasureOptions,
  hooks: MeasureHooks,
): Promise<Result<MeasuredTable, Problem>> {
  const step = progressSteps(hooks, files.length);
  compileLess();
  secondThread.start();

  const reduce = (photo: Photo): ReducedBeside =>
    files.length <= mostReduced ? reduceBeside(secondThread, photo, hooks.signal) : {};
  const reduced: ReducedBeside[] = [];
  const detections: MarkerDetection[][] = [];
  for (const file of files) {
    await step('photo', file.name);
    const opened = await openShared(file.name, file.bytes, hooks.signal);
    if (!opened.ok) return opened;
    const photo = opened.value;
    photos.push(photo);
    reduced.push(reduce(photo));
    await step('markers', file.name);
    const markers = await detectMarkers(photo, { borderModules: options.borderModules, signal: hooks.signal });
    if (!markers.ok) return markers;
    const aligned = withoutFringes(photo, markers.value, options.borderModules);
    // The second thread may still look at the photo as it was: nobody gives its memory back.
    if (aligned) {
      photos[photos.length - 1] = aligned;
      reduced[reduced.length - 1] = reduce(aligned);
    }
    detections.push(markers.value);
  }
  return measureOpened(withMarkers({ photos, detections, reduced, leftOut: [] }), noDoubts, options, hooks, step);
}

/** The photos and what can be told of each alone. */
interface OpenedPhotos {
  readonly photos: readonly Photo[];
  readonly detections: readonly MarkerDetection[][];
  /** Each is used up. */
  readonly reduced: ReducedBeside[];
  /** Names of photos that show no marker, while others do: they are not among these. */
  readonly leftOut: readonly string[];
}

/** A photo without a marker tells nothing that can be placed; it must not keep the others from being measured. */
function withMarkers(opened: OpenedPhotos): OpenedPhotos {
  const shows = opened.detections.map((found) => found.length > 0);
  if (!shows.includes(true)) return opened;
  return {
    photos: opened.photos.filter((_, i) => shows[i]),
    detections: opened.detections.filter((_, i) => shows[i]),
    reduced: opened.reduced.filter((_, i) => shows[i]),
    leftOut: opened.photos.filter((_, i) => !shows[i]).map((p) => p.name),
  };
}

/** @param doubted what turned out to be otherwise than it seemed: then all is measured once more */
async function measureOpened(
  opened: OpenedPhotos,
  doubted: DoubtedLenses,
  options: MeasureOptions,
  hooks: MeasureHooks,
  step: ReturnType<typeof progressSteps>,
): Promise<Result<MeasuredTable, Problem>> {
  const { photos, detections, reduced, leftOut } = opened;
  const { track, markerSideMm } = options;
  await step('camera', null);
  const started = startCamera(photos, detections, markerSideMm, doubted);
  if (!started.ok) return started;
  let start = started.value;
  // Taken in once everything else can tell whether they may be true.
  let tapes = noTapes;
  let sideTapes: SideTapeObservation[] = [];
  const solve = (
    state: AdjustmentState,
    traces: RailTrace[],
    sides: SideArc[],
    pieces?: RunDraft[],
  ): CorneredAdjustment => {
    const spans = pieces
      ? pieces.flatMap((d, trace) => d.spans.map((s) => ({ trace, from: s.from, to: s.to, straight: s.straight })))
      : evenSpans(traces);
    const between = tapesOf(tapes.between, state);
    return adjustWithCorners(options.squareCorners ?? false, state, sides, (from, corners) =>
      adjustTable(start, from, traces, spans, sides, between, markerSideMm, track, sideTapes, corners),
    );
  };
  let state = solve(start.state, [], []).output.state;

  const byHand = new HandCorrections(
    options.corrections,
    photos.map((p) => p.name),
    track,
  );
  const works = railsInTwo(secondThread);
  const findTraces = async (looked = track): Promise<RailTrace[]> => {
    const all: RailTrace[] = [];
    for (const [i, { name, raster }] of photos.entries()) {
      await step('rails', name);
      const found = findRails(raster, i, state.cameras[i], looked, defaultFindRailsOptions, hooks.signal, works);
      all.push(...joinTraces(plausibleTraces(tracesApart(found, looked), track.railCount, 150)));
    }
    return byHand.runs(all, { photos, cameras: state.cameras }, 'own', hooks.signal);
  };
  const noTrack = () => failed(problem('no-track', { name: photos.map((p) => p.name).join(', ') }));
  /** Rails that lie as far apart as they can; else what is the matter. */
  const tracesThatFit = async (): Promise<Result<RailTrace[], Problem>> => {
    const found = await findTraces();
    const misfit = await railsMisfit(photos, state.cameras, options, found, findTraces);
    if (misfit) return failed(misfit);
    return found.length > 0 ? ok(found) : noTrack();
  };
  const untold = start.cropped.length + doubted.focalUntold.length > 0;
  const first = untold ? ok(await findTraces()) : await tracesThatFit();
  if (!first.ok) return first;
  let traces = first.value;
  if (traces.length === 0) return noTrack();
  /** Solves for everything, and carries the traces over to the new cameras. */
  const settle = (sides: SideArc[]): CorneredAdjustment => {
    const before = state.cameras;
    const adjusted = solve(state, traces, sides);
    state = adjusted.output.state;
    traces = traces.map((t) => carryTrace(t, before[t.photo], state.cameras[t.photo], track));
    return adjusted;
  };
  let settled = settle([]).output;
  const doubtedNow = doubtedByLook(start, state, doubted);
  if (doubtedNow) return measureOpened(opened, doubtedNow, options, hooks, step);
  // Through a lens of which so little was known some of the track may not have been found.
  if (untold) {
    const again = await tracesThatFit();
    if (!again.ok) return again;
    traces = again.value;
    settled = settle([]).output;
  }
  const judged = judgeMarkers(
    start,
    state,
    markerSideMm,
    settled,
    (from, at) => adjustTable(from, at, traces, evenSpans(traces), [], [], markerSideMm, track).output,
  );
  if (judged.lying.length > 0) {
    start = judged.start;
    state = judged.state;
    settle([]);
  }
  traces = byHand.runs(traces, { photos, cameras: state.cameras }, 'others', hooks.signal);

  // The second thread looks for the table's edge while this one follows the rails with the cameras as they are now.
  const edges: Promise<EdgeInPhoto | null>[] = [];
  for (const [i, photo] of photos.entries()) {
    await step('table-edge', photo.name);
    const seen = { photo, index: i, camera: state.cameras[i], markers: detections[i], reduced: reduced[i].photo };
    edges.push(lookForEdge(secondThread, seen, traces, track, byHand, hooks.signal));
    reduced[i] = {};
    // Should the rails fail first, nobody waits for it.
    edges[i].catch(() => {});
  }
  const refine = (): void => {
    traces = traces
      .map((t) => refineTrace(photos[t.photo].raster, state.cameras[t.photo], track, t, hooks.signal, works))
      .filter((t) => t.samples.length >= fewestSamples);
  };
  refine();
  if (traces.length === 0) return noTrack();
  const found = byHand.sides((await Promise.all(edges)).filter((edge) => edge !== null));
  const { sides, differing } = sidesThatAgree(sidesAroundTrack(found, traces), (apart) =>
    adjustTable(start, state, traces, evenSpans(traces), apart, [], markerSideMm, track),
  );

  await step('joints', null);
  const withSides = settle(sides);
  const named = sides.length > 0 ? measuredSides(sides, state.arcs, withSides.firstSide, state) : [];
  tapes = judgeTapes(options.tapeChecks, options.sideChecks ?? [], withSides.output, named);
  sideTapes = sideTapesOf(tapes.ofSides, named, withSides.firstSide);
  refine();
  if (traces.length === 0) return noTrack();
  settle(sides);
  const primary = primaryPhoto(traces, photos.length);
  const lines = traces.map(centreLineOf);
  const runs = traces.map(({ photo }, i) => {
    const camera = state.cameras[photo];
    const papers = paperPlaces(detections[photo], camera);
    return { raster: photos[photo].raster, camera, track, line: lines[i].line, papers };
  });
  const joints = await findJointsInTwo(secondThread, runs, hooks.signal);
  const drafts = traces.map((trace, i) => {
    const corrected = byHand.joints(joints[i], trace, runs[i].line, { photos, cameras: state.cameras });
    return draftRun(trace, lines[i], corrected);
  });
  const { cameras } = state;
  const adjusted = solve(state, traces, sides, drafts);
  state = adjusted.output.state;
  // With the table's edge more is known of the lenses than before.
  const doubtedAfterAll = doubtedByLook(start, state, doubted);
  if (doubtedAfterAll) return measureOpened(opened, doubtedAfterAll, options, hooks, step);

  await step('measurements', null);
  const arcs = state.arcs;
  let firstArc = 0;
  const perPhoto = drafts.map((found) => {
    const { photo } = found.trace;
    const draft = carryDraft(found, cameras[photo], state.cameras[photo], track);
    const pieces = piecesOf(draft, arcs, firstArc);
    firstArc += draft.spans.length;
    return measuredRun('', draft, pieces);
  });
  const doubts = doubtsOf(sides, differing).map((uMm, i) => {
    const index = adjusted.firstSide + i;
    return [index, { headingRad: arcs[index].headingRad, uMm }] as const;
  });
  const arcCovariance = withDoubts(arcCovarianceOf(adjusted.output), new Map(doubts));
  const merged = mergeRuns(
    perPhoto,
    primary,
    (x, y) => isInPicture(photos[primary], state.cameras[primary], x, y, track),
    (piece, s) => acrossUMm(piece.arc, piece.arcIndex, s, arcCovariance),
  );
  const layout: MeasuredLayout = {
    cameras: state.cameras,
    photoNames: photos.map((p) => p.name),
    photoSizesPx: photos.map((p) => [p.raster.widthPx, p.raster.heightPx] as const),
    track,
    railTopOffMm: state.railTopOffMm,
    runs: merged.runs,
    sides: sides.length > 0 ? measuredSides(sides, arcs, adjusted.firstSide, state) : [],
    arcCovariance,
  };
  const shift = reportShift(layout.sides);
  await step('plan-view', null);
  const shown = placesShown(layout, state, markerSideMm, shift);
  const draw = drawInTwo(secondThread);
  const { planView, raster } = await drawPlanView(photos, state.cameras, primary, shift, shown, track, draw);
  const encoded = encodePlanView(raster);
  const solved = solvedTableOf({ adjusted, start, sides, traces, primary, markerSideMm }, layout);
  const clearances = smallestClearances(layout);
  const coverage = coverageOf(solved, shift, clearances);
  const written = writeReport({
    layout,
    clearances,
    coverage,
    state,
    detections,
    markerSideMm,
    rmsResidualPx: rmsOfPhotos(adjusted.output, start, photos.length),
    asideReasons: reasonsOf(judged.lying),
    warnings: warningsOf(layout, detections, {
      ...judged,
      leftOut,
      cropped: start.cropped.map((i) => photos[i].name),
      moved: merged.moved,
      corners: adjusted.corners,
      differing: { sides: differing, firstSide: adjusted.firstSide },
      tapesDoubted: tapes.doubted,
      coverage,
      gauge: { profileMm: track.gaugeMm, scale: state.gaugeScale, markerSideMm },
      tapesLeftOut: tapesLeftOut(options.tapeChecks, options.sideChecks ?? [], state, layout.sides),
    }),
  });
  const report = byHand.outcomes ? { ...written, corrections: byHand.outcomes } : written;
  const planViewJpeg = await encoded;
  giveBack(raster.data);
  return ok({ report, planView, planViewJpeg });
}

/** Opens a photo, its picture in memory that both threads see. A function of its own, so that nothing holds the first copy. */
async function openShared(name: string, bytes: Uint8Array, signal?: AbortSignal): Promise<Result<Photo, Problem>> {
  const opened = await openPhoto(name, bytes, { signal });
  if (!opened.ok || !secondThread.isApart) return opened;
  return ok({ ...opened.value, raster: sharedRaster(opened.value.raster) });
}

/** The photo with its colours drawn alike large, where its markers show that they are not; the one given is left as it is. */
function withoutFringes(photo: Photo, markers: readonly MarkerDetection[], borderModules: 1 | 2): Photo | null {
  const fringes = measureFringes(photo.raster, markers, borderModules);
  if (!fringes || !mustBeAligned(photo.raster, fringes)) return null;
  return { ...photo, raster: alignColours(photo.raster, fringes.scales) };
}

function isInPicture({ raster }: Photo, camera: Camera, x: number, y: number, track: TrackProfile): boolean {
  const p = photoFromTable(camera, x, y, track.railTopMm);
  return p.x >= 0 && p.y >= 0 && p.x <= raster.widthPx - 1 && p.y <= raster.heightPx - 1;
}

/** The photo whose own picture shows the most track; its runs count first. */
function primaryPhoto(traces: readonly RailTrace[], count: number): number {
  const length = Array.from({ length: count }, () => 0);
  for (const t of traces)
    length[t.photo] += t.samples.filter((s) => s.sidewaysMm.some((v) => !Number.isNaN(v))).length * t.stepMm;
  return length.indexOf(Math.max(...length));
}

function evenSpans(traces: readonly RailTrace[]): ArcSpan[] {
  return traces.flatMap((t, trace) =>
    cutEvenly(t, evenArcMm).map(({ from, to }) => ({ trace, from, to, straight: false })),
  );
}
