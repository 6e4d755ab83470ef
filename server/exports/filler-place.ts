import { type FillerSum, sumNames } from '../contract/filler-sum.js';
import type { Report } from '../contract/report.js';
import { roughPlace } from '../contract/rough-place.js';
import type { LengthStyle } from '../units/format-length.js';
import type { FillerLine } from './cut-list.js';
import type { LaidRun, Point } from './laid-track.js';

/**
 * Where on the table a filler goes, table frame, millimetres: its gap, or else its place in the planned track. Null where
 * report and plan do not say.
 */
export function fillerPoint(filler: FillerLine, runs: readonly LaidRun[], report: Report): Point | null {
  const joint = report.joints.find((j) => j.id === filler.joint);
  if (joint !== undefined) return joint.at;
  for (const stroke of runs.flatMap((run) => run.strokes)) {
    const section = stroke.kind === 'straight' ? stroke.sections.find((s) => s.filler === filler.id) : undefined;
    if (section !== undefined) {
      return [(section.from[0] + section.to[0]) / 2, (section.from[1] + section.to[1]) / 2];
    }
  }
  return null;
}

/** In words: what it closes, or the run and its straight, and a rough place that a person finds at the table. */
export function fillerPlaceInWords(
  filler: FillerLine,
  sum: FillerSum,
  runs: readonly LaidRun[],
  report: Report | null,
  style: LengthStyle,
): string {
  const start =
    filler.joint === null
      ? `${filler.run} ${stretchName(filler.stretch)}`.trim()
      : sumNames(sum) || gapInWords(filler, filler.joint);
  const point = report === null ? null : fillerPoint(filler, runs, report);
  if (report === null || point === null) return start;
  const rough = roughPlace(point, report, style);
  return rough === '' ? start : `${start}: ${rough}`;
}

function gapInWords({ run }: FillerLine, joint: string): string {
  return joint.startsWith(run) ? `gap ${joint}` : `${run} gap ${joint}`;
}

/** S1 is the first stretch of the plan. */
export function stretchName(index: number | null): string {
  return index === null ? '' : `straight S${index + 1}`;
}
