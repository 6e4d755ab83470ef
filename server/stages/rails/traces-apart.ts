import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../../scene/track-profile.js';
import { withoutSamples } from './cut-traces.js';

/** Two tracks that lie one beside the other head the same way to this; a branch that leaves soon heads elsewhere. */
const sameHeadingRad = 0.03;
/** So many samples in a row of one trace beside another are its rails taken twice. */
const leastInRow = 8;

/**
 * Traces of one photo without those parts that lie where another, longer one lies: there is no room for two tracks nearer
 * to each other than a track is wide. Something bright beside a track may pass for its third rail, with two of its own.
 */
export function tracesApart(traces: readonly RailTrace[], track: TrackProfile): RailTrace[] {
  const widthMm = 2 * outsideFaceOffsetMm(track);
  const longestFirst = [...traces].sort((a, b) => seenSamples(b) - seenSamples(a));
  const kept = new Map<RailTrace, RailTrace[]>();
  for (const trace of longestFirst) {
    const others = [...kept.values()].flat();
    const doubled = inRows(
      trace,
      trace.samples.map((s) => others.some((other) => liesOn(s, other, widthMm))),
    );
    kept.set(
      trace,
      withoutSamples([trace], (sample) => doubled.has(sample)),
    );
  }
  return traces.flatMap((trace) => kept.get(trace) ?? []);
}

function seenSamples(trace: RailTrace): number {
  return trace.samples.filter((s) => s.sidewaysMm.some((v) => !Number.isNaN(v))).length;
}

function liesOn(sample: TraceSample, other: RailTrace, withinMm: number): boolean {
  return other.samples.some((o) => {
    const [dx, dy] = [sample.x - o.x, sample.y - o.y];
    if (Math.abs(dx) > withinMm || Math.abs(dy) > withinMm) return false;
    const along = dx * Math.cos(o.headingRad) + dy * Math.sin(o.headingRad);
    const across = dy * Math.cos(o.headingRad) - dx * Math.sin(o.headingRad);
    const turned = Math.abs(Math.sin(sample.headingRad - o.headingRad));
    return Math.abs(along) <= other.stepMm && Math.abs(across) < withinMm && turned < sameHeadingRad;
  });
}

/** Those of the marked samples that lie in long rows of marked ones. */
function inRows(trace: RailTrace, marked: readonly boolean[]): Set<TraceSample> {
  const rows = new Set<TraceSample>();
  for (let from = 0; from < marked.length; ) {
    let to = from;
    while (to < marked.length && marked[to]) to++;
    if (to - from >= leastInRow) for (let i = from; i < to; i++) rows.add(trace.samples[i]);
    from = to + 1;
  }
  return rows;
}
