import type { RailJoint } from '../../scene/rail-joint.js';
import { endShape } from './rail-end.js';
import { medianOf } from './strip-template.js';

/** Share of a stretch that lies in the spans given. */
export function shareWithin(spans: readonly MissingSpan[], from: number, to: number): number {
  const within = spans.map((s) => Math.max(0, Math.min(to, s.to) - Math.max(from, s.from)));
  return within.reduce((a, b) => a + b, 0) / (to - from);
}

/** Rails that show, or pass for missing, so much beyond where they should. */
const vagueMm = 6;

/**
 * Pins mostly reach into a gap from one end, and from both seldom as far as they can (common practice, no source): a false gap
 * of 29 mm between a wagon and a joint, in which rails are missing nowhere, is then none.
 */
const pinsAtMost = 1.5;

/** Whether rails are missing in as much of a stretch as pins that reach into it cannot fill. */
export function missesRails(spans: readonly MissingSpan[], from: number, to: number, pinReachMm: number): boolean {
  const lengthMm = to - from;
  return shareWithin(spans, from, to) * lengthMm >= lengthMm - pinsAtMost * pinReachMm - vagueMm;
}

/** What is left of missing stretches when the gaps are taken out of them. */
export function withoutGaps(spans: readonly MissingSpan[], gaps: readonly RailJoint[], startS: number): MissingSpan[] {
  let left = [...spans];
  for (const gap of gaps) {
    const a = gap.s - gap.gapMm.value / 2 - 3 - startS;
    const b = gap.s + gap.gapMm.value / 2 + 3 - startS;
    left = left.flatMap((span) =>
      span.to < a || span.from > b
        ? [span]
        : [
            { from: span.from, to: a },
            { from: b, to: span.to },
          ].filter((part) => part.to - part.from >= 5),
    );
  }
  return left;
}

/** A stretch in which most rails are missing, millimetres from the strips' first row. */
export interface MissingSpan {
  readonly from: number;
  readonly to: number;
}

export const atStart = (span: MissingSpan): boolean => span.from <= endShape.stepMm;
export const atEnd = (span: MissingSpan, lengthMm: number): boolean => span.to >= lengthMm - endShape.stepMm;

export interface MissingOptions {
  /** A row is taken for 'no rail' beyond this unlikeness. */
  readonly unlike: number;
  readonly shortestGapMm: number;
}

/** Stretches where most rails are missing, joined over interruptions shorter than a rail's width. */
export function missingSpans(
  unlike: readonly Float32Array[],
  { unlike: most, shortestGapMm }: MissingOptions,
): MissingSpan[] {
  const { stepMm } = endShape;
  const rows = unlike[0].length;
  const missing = (i: number): boolean => {
    const values = unlike.map((u) => (Number.isNaN(u[i]) ? 9 : u[i]));
    return medianOf(values) > most;
  };
  const spans: { from: number; to: number }[] = [];
  for (let i = 0; i < rows; i++) {
    if (!missing(i)) continue;
    const last = spans[spans.length - 1];
    if (last && i * stepMm - last.to < 5) last.to = i * stepMm;
    else spans.push({ from: i * stepMm, to: i * stepMm });
  }
  return spans.filter((s) => s.to - s.from >= shortestGapMm || atStart(s) || atEnd(s, (rows - 1) * stepMm));
}

/** A stretch of missing rails shorter than this that is no gap is a shadow, a spot or a patch of rust. */
const shortestCoverMm = 12;

/** What covers track is at least so long, with what shows of the track in breaks shorter than so much. */
const leastExtentMm = 45;
const longestBreakMm = 45;

/** Those of some missing stretches, in order along the run, that something on the track covers. */
export function covers(spans: readonly MissingSpan[]): MissingSpan[] {
  const groups: MissingSpan[][] = [];
  for (const span of spans.filter((s) => s.to - s.from >= shortestCoverMm)) {
    const last = groups.at(-1);
    if (last && span.from - last[last.length - 1].to < longestBreakMm) last.push(span);
    else groups.push([span]);
  }
  return groups.filter((group) => group[group.length - 1].to - group[0].from >= leastExtentMm).flat();
}
