import type { Coverage } from '../contract/coverage.js';
import { coverageAdvice, warningStyle } from '../contract/coverage-words.js';
import { problem, problemLine } from '../contract/problems.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { MeasuredLayout } from '../scene/measured-layout.js';
import { pointOnArc } from '../scene/track-observation.js';
import { seenAt } from '../stages/measurements/seen-at.js';
import { halfWidth95 } from '../units/estimate.js';
import type { JudgedMarkers, LyingMarker } from './judge-markers.js';
import type { MergedRuns } from './merge-runs.js';
import { sideLengthU } from './side-lengths.js';
import type { DifferingSide } from './sides-agree.js';
import type { JudgedCorner } from './square-corners.js';
import type { DoubtedTape } from './tapes.js';

interface Warning {
  code: string;
  message: string;
}

/** In plain words, why each marker that was set aside is not used. */
export function reasonsOf(lying: readonly LyingMarker[]): Map<number, string> {
  const words = {
    'not-flat': 'corners fit no flat sheet of paper',
    moved: 'lies in another place in another photo',
  };
  return new Map(lying.filter((m) => m.aside).map((m) => [m.id, words[m.kind]]));
}

/** Sheets that curl or were moved, and photos that disagree about where sheets lie. */
export function markerWarnings(
  { lying, unsure }: Pick<JudgedMarkers, 'lying' | 'unsure'>,
  photoNames: readonly string[],
  detections: readonly (readonly MarkerDetection[])[],
): Warning[] {
  const showing = (ids: readonly number[]): string =>
    photoNames.filter((_, i) => detections[i].some((d) => ids.includes(d.id))).join(', ');
  const out = lying.map(({ id, kind, aside }) => {
    const said =
      kind === 'moved'
        ? problem('marker-moved', { id, names: showing([id]) })
        : problem('marker-not-flat', { id, aside });
    return { code: said.code, message: problemLine(said) };
  });
  if (unsure.length === 0) return out;
  const said = problem('photos-contradict', { ids: unsure.join(' and '), names: showing(unsure) });
  return [...out, { code: said.code, message: problemLine(said) }];
}

/** Corners that the user calls square and that cannot be. */
export function cornerWarnings(judged: readonly JudgedCorner[]): Warning[] {
  const degrees = 180 / Math.PI;
  const corners = judged
    .filter((c) => !c.square)
    .map(({ sides, offRad, uRad }) => ({
      sides: sides.join(' and '),
      offDegrees: Math.abs(offRad) * degrees,
      withinDegrees: 1.96 * uRad * degrees,
    }));
  if (corners.length === 0) return [];
  const said = problem('corner-not-square', { corners });
  return [{ code: said.code, message: problemLine(said) }];
}

/** Opposite sides that differ by more than this, and by more than so many times their uncertainty, are told of. */
const unequalMm = 5;
const unequalU = 4;

/**
 * Tables are rectangles (common practice, no source): where opposite sides differ, one of them may be a shadow or a floor
 * board.
 */
export function sideWarnings({ sides, arcCovariance }: Pick<MeasuredLayout, 'sides' | 'arcCovariance'>): Warning[] {
  if (sides.length !== 4 || sides.some((s) => !s.fromCorner || !s.toCorner)) return [];
  return [0, 1].flatMap((i) => {
    const [a, b] = [sides[i], sides[i + 2]];
    const more = a.toS - a.fromS - (b.toS - b.fromS);
    const u = Math.hypot(sideLengthU(sides, i, arcCovariance), sideLengthU(sides, i + 2, arcCovariance));
    if (Math.abs(more) < Math.max(unequalMm, unequalU * u)) return [];
    const [longer, shorter] = more > 0 ? [a.name, b.name] : [b.name, a.name];
    const said = problem('sides-unequal', { longer, shorter, byMm: Math.abs(more) });
    return [{ code: said.code, message: problemLine(said) }];
  });
}

/** Sides that photos show in different places, with the names they have been given; what a person drew needs no telling. */
export function differingSides(
  { sides, photoNames }: Pick<MeasuredLayout, 'sides' | 'photoNames'>,
  differing: readonly DifferingSide[],
  firstSide: number,
): Warning[] {
  const names = (photos: readonly number[]): string => photos.map((p) => photoNames[p]).join(' and ');
  return differing.flatMap(({ side, kept, leftOut, apartMm, keptFor }) => {
    const measured = sides.find((s) => s.arcIndex === firstSide + side);
    if (!measured || keptFor === 'drawn') return [];
    const said = problem('sides-differ', {
      side: measured.name,
      kept: names(kept),
      leftOut: names(leftOut),
      apartMm,
      byMost: keptFor === 'most',
    });
    return [{ code: said.code, message: problemLine(said) }];
  });
}

/** Made track keeps its gauge this well, a share of it (from memory), and so well is it measured at least. */
const gaugeShare = 0.012;

/** Rails that lie farther apart, or nearer, than they can: the markers were not printed at the size that was typed. */
export function gaugeWarnings(gauge: {
  readonly profileMm: number;
  readonly scale: number;
  readonly markerSideMm: number;
}): Warning[] {
  if (Math.abs(gauge.scale - 1) < gaugeShare) return [];
  const said = problem('gauge-differs', {
    seenMm: gauge.profileMm * gauge.scale,
    profileMm: gauge.profileMm,
    typedSideMm: gauge.markerSideMm,
    fittingSideMm: gauge.markerSideMm / gauge.scale,
  });
  return [{ code: said.code, message: problemLine(said) }];
}

/** What a person should know before trusting the lengths. */
export function warningsOf(
  layout: MeasuredLayout,
  detections: readonly (readonly MarkerDetection[])[],
  found: Pick<JudgedMarkers, 'lying' | 'unsure'> &
    Pick<MergedRuns, 'moved'> & {
      /** Names of photos that show no marker. */
      readonly leftOut: readonly string[];
      /** Names of photos of which a part was cut away. */
      readonly cropped: readonly string[];
      readonly tapesLeftOut: readonly string[];
      readonly tapesDoubted: readonly DoubtedTape[];
      readonly corners: readonly JudgedCorner[];
      readonly differing: { readonly sides: readonly DifferingSide[]; readonly firstSide: number };
      readonly coverage?: Coverage;
      readonly gauge: Parameters<typeof gaugeWarnings>[0];
    },
): Warning[] {
  const out = markerWarnings(found, layout.photoNames, detections);
  if (found.leftOut.length > 0) {
    const said = problem('photo-left-out', { names: found.leftOut });
    out.push({ code: said.code, message: problemLine(said) });
  }
  if (found.cropped.length > 0) {
    const said = problem('photo-cropped', { names: found.cropped.join(' and ') });
    out.push({ code: said.code, message: problemLine(said) });
  }
  for (const { photos, apartMm } of found.moved) {
    const names = photos.map((p) => layout.photoNames[p]).join(' and ');
    const said = problem('track-moved', { names, millimetres: apartMm });
    out.push({ code: said.code, message: problemLine(said) });
  }
  if (layout.sides.length === 0) {
    const names = layout.photoNames.join(', ');
    out.push({ code: 'no-table-edge', message: problemLine(problem('no-table-edge', { name: names })) });
  }
  out.push(...gaugeWarnings(found.gauge), ...cornerWarnings(found.corners), ...sideWarnings(layout));
  out.push(...differingSides(layout, found.differing.sides, found.differing.firstSide));
  if (found.tapesDoubted.length > 0) {
    const said = problem('tape-contradicted', { tapes: found.tapesDoubted });
    out.push({ code: said.code, message: problemLine(said) });
  }
  if (found.tapesLeftOut.length > 0) {
    const said = problem('tape-left-out', { which: found.tapesLeftOut.join(', ') });
    out.push({ code: said.code, message: problemLine(said) });
  }
  out.push(...surenessWarnings(new Set(detections.flat().map((d) => d.id)).size, found.coverage));
  const hidden = layout.runs.reduce((n, run) => n + run.pieces.filter((p) => !p.seen).length, 0);
  if (hidden > 0)
    out.push({
      code: 'track-covered',
      message: `Track is covered in ${hidden} ${hidden === 1 ? 'place' : 'places'}. Lift away what stands there and take the photo again to measure it.`,
    });
  out.push(...endWarnings(layout));
  return out;
}

/** An end of a run that is known no better than this was not seen; one that was seen is known to 1.5 mm. */
const unseenEndUMm = 5;

/** What lies so far beyond an end would be seen if the picture went on, millimetres. */
const beyondEndMm = 40;

/** Open runs of which an end was not seen, as something covers it there or the picture ends. */
function endWarnings(layout: MeasuredLayout): Warning[] {
  const ends = layout.runs.flatMap((run) => {
    if (run.closed || run.pieces.length === 0) return [];
    const [first, last] = [run.pieces[0], run.pieces[run.pieces.length - 1]];
    return [
      { run: run.id, piece: first, beyond: pointOnArc(first.arc, first.fromS - beyondEndMm) },
      { run: run.id, piece: last, beyond: pointOnArc(last.arc, last.toS + beyondEndMm) },
    ];
  });
  const unseen = ends.filter(({ piece }) => (piece.alongUMm ?? 0) >= unseenEndUMm);
  const runsOf = (shown: boolean): string[] => [
    ...new Set(
      unseen.filter(({ beyond: { x, y } }) => seenAt(layout, x, y).length > 0 === shown).map(({ run }) => run),
    ),
  ];
  const said = [
    { code: 'run-end-unclear', runs: runsOf(true) },
    { code: 'run-leaves-picture', runs: runsOf(false) },
  ] as const;
  return said
    .filter(({ runs }) => runs.length > 0)
    .map(({ code, runs }) => ({ code, message: problemLine(problem(code, { runs })) }));
}

/** A clearance less sure than this, half a 95 % interval, is worth a warning: about 1/16 in. */
const unsureMm = 1.6;

/** Says where the measurement is least sure and which photo or marker would help most, as the coverage picture does. */
function surenessWarnings(markerCount: number, coverage: Coverage | undefined): Warning[] {
  const advice = coverage && coverageAdvice(coverage, warningStyle);
  if (markerCount === 1) {
    const usual = 'A second marker sheet near the other end of the table makes the far lengths surer.';
    return [{ code: 'one-marker', message: `Only one marker was seen. ${advice ?? usual}` }];
  }
  const worst = coverage?.leastSure;
  if (!advice || worst?.what !== 'clearance' || halfWidth95({ value: 0, u: worst.u }) <= unsureMm) return [];
  return [{ code: 'unsure-clearance', message: `Not every clearance is sure. ${advice}` }];
}
