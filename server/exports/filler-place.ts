import { type FillerSum, sumNames } from '../contract/filler-sum.js';
import type { Report } from '../contract/report.js';
import type { LengthStyle } from '../units/format-length.js';
import type { FillerLine } from './cut-list.js';
import type { LaidRun, Point } from './laid-track.js';
import { roughly } from './length-words.js';

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

/** `by side A, 24 in from corner D/A`: the nearest side, and how far along it from the corner where it starts. */
export function roughPlace(point: Point, report: Report, style: LengthStyle): string {
  const sides = report.table.sides;
  let best: { name: string; index: number; awayMm: number; alongMm: number } | null = null;
  sides.forEach((side, index) => {
    const dx = side.to[0] - side.from[0];
    const dy = side.to[1] - side.from[1];
    const length = Math.hypot(dx, dy);
    if (length === 0) return;
    const along = ((point[0] - side.from[0]) * dx + (point[1] - side.from[1]) * dy) / length;
    const held = Math.min(Math.max(along, 0), length);
    const awayMm = Math.hypot(
      point[0] - side.from[0] - (dx / length) * held,
      point[1] - side.from[1] - (dy / length) * held,
    );
    if (side.seen !== false && (best === null || awayMm < best.awayMm))
      best = { name: side.name, index, awayMm, alongMm: held };
  });
  const found = best as { name: string; index: number; alongMm: number } | null;
  if (found === null) return '';
  const before = sides[(found.index + sides.length - 1) % sides.length];
  return `by side ${found.name}, ${roughly(found.alongMm, style)} from corner ${before.name}/${found.name}`;
}
