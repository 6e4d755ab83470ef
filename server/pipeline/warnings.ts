import { problem, problemLine } from '../contract/problems.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { MeasuredLayout } from '../scene/measured-layout.js';
import type { JudgedMarkers, LyingMarker } from './judge-markers.js';
import type { MergedRuns } from './merge-runs.js';
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

/** What a person should know before trusting the lengths. */
export function warningsOf(
  layout: MeasuredLayout,
  detections: readonly (readonly MarkerDetection[])[],
  found: Pick<JudgedMarkers, 'lying' | 'unsure'> &
    Pick<MergedRuns, 'moved'> & {
      readonly tapesLeftOut: readonly string[];
      readonly tapesDoubted: readonly DoubtedTape[];
      readonly corners: readonly JudgedCorner[];
    },
): Warning[] {
  const out = markerWarnings(found, layout.photoNames, detections);
  for (const { photos, apartMm } of found.moved) {
    const names = photos.map((p) => layout.photoNames[p]).join(' and ');
    const said = problem('track-moved', { names, millimetres: apartMm });
    out.push({ code: said.code, message: problemLine(said) });
  }
  if (layout.sides.length === 0) {
    const names = layout.photoNames.join(', ');
    out.push({ code: 'no-table-edge', message: problemLine(problem('no-table-edge', { name: names })) });
  }
  out.push(...cornerWarnings(found.corners));
  if (found.tapesDoubted.length > 0) {
    const said = problem('tape-contradicted', { tapes: found.tapesDoubted });
    out.push({ code: said.code, message: problemLine(said) });
  }
  if (found.tapesLeftOut.length > 0) {
    const said = problem('tape-left-out', { which: found.tapesLeftOut.join(', ') });
    out.push({ code: said.code, message: problemLine(said) });
  }
  const ids = new Set(detections.flat().map((d) => d.id));
  if (ids.size === 1)
    out.push({
      code: 'one-marker',
      message:
        'Only one marker was seen. A second marker sheet near the other end of the table makes the far lengths surer.',
    });
  const hidden = layout.runs.reduce((n, run) => n + run.pieces.filter((p) => !p.seen).length, 0);
  if (hidden > 0)
    out.push({
      code: 'track-covered',
      message: `Track is covered in ${hidden} ${hidden === 1 ? 'place' : 'places'}. Lift away what stands there and take the photo again to measure it.`,
    });
  return out;
}
