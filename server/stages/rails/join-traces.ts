import { middleOf } from '../../linalg/middle.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';

/** Longest covered stretch (a wagon, a house) across which two ends are taken for one run. */
const longestCoverMm = 480;

/** A free end of a trace. */
export interface End {
  readonly trace: number;
  /** True at the last sample, false at the first. */
  readonly last: boolean;
  readonly x: number;
  readonly y: number;
  /** Heading out of the trace. */
  readonly outRad: number;
}

/**
 * Joins traces of one photo whose ends look at each other along one arc, as where a wagon hides the rails. What lies
 * between is bridged as geometry only: its samples carry no rail.
 */
export function joinTraces(traces: readonly RailTrace[]): RailTrace[] {
  let now = [...traces];
  for (;;) {
    const best = bestPair(now);
    if (!best) return now;
    const [a, b] = best;
    if (a.trace === b.trace) {
      const bridge = bridgeSamples(a.last ? a : b, a.last ? b : a, now[a.trace].stepMm);
      now = now.map((t, i) => (i === a.trace ? { ...t, closed: true, samples: [...t.samples, ...bridge] } : t));
      continue;
    }
    const first = a.last ? now[a.trace] : reversed(now[a.trace]);
    const second = b.last ? reversed(now[b.trace]) : now[b.trace];
    const bridge = bridgeSamples(a, b, first.stepMm);
    const joined = { ...first, samples: [...first.samples, ...bridge, ...second.samples] };
    now = [...now.filter((_, i) => i !== a.trace && i !== b.trace), joined];
  }
}

export function reversed(trace: RailTrace): RailTrace {
  return {
    ...trace,
    samples: [...trace.samples].reverse().map((s) => ({
      x: s.x,
      y: s.y,
      headingRad: s.headingRad + Math.PI,
      sidewaysMm: [-s.sidewaysMm[2], -s.sidewaysMm[1], -s.sidewaysMm[0]] as const,
      ...(s.crestAsideMm !== undefined && { crestAsideMm: -s.crestAsideMm }),
    })),
  };
}

/** Both ends of every trace that is open. */
export function endsOf(traces: readonly RailTrace[]): End[] {
  return traces.flatMap((trace, i) => {
    if (trace.closed || trace.samples.length < 8) return [];
    const n = trace.samples.length;
    const at = (from: number, to: number, last: boolean): End => {
      const a = trace.samples[from];
      const b = trace.samples[to];
      return { trace: i, last, x: b.x, y: b.y, outRad: Math.atan2(b.y - a.y, b.x - a.x) };
    };
    return [at(5, 0, false), at(n - 6, n - 1, true)];
  });
}

function wrap(angle: number): number {
  return Math.atan2(Math.sin(angle), Math.cos(angle));
}

function bestPair(traces: readonly RailTrace[]): [End, End] | null {
  const ends = endsOf(traces);
  let best: { pair: [End, End]; merit: number } | null = null;
  for (const a of ends)
    for (const b of ends) {
      if (a === b || (a.trace === b.trace && a.last === b.last) || a.trace > b.trace) continue;
      if (a.trace === b.trace && traces[a.trace].samples.length * traces[a.trace].stepMm < 800) continue;
      const distance = Math.hypot(b.x - a.x, b.y - a.y);
      if (distance > longestCoverMm) continue;
      const chord = Math.atan2(b.y - a.y, b.x - a.x);
      const leave = wrap(chord - a.outRad);
      const arrive = wrap(b.outRad + Math.PI - chord);
      // Along one arc both turns are equal; the radius of a curve is 250 mm at least (common practice, no source).
      const slack = 0.06 + 6 / Math.max(30, distance);
      if (Math.abs(leave - arrive) > 2 * slack || Math.abs(leave) > slack + distance / 500) continue;
      const merit = distance + 400 * Math.abs(leave - arrive);
      if (!best || merit < best.merit) best = { pair: [a, b], merit };
    }
  return best ? best.pair : null;
}

/** Places on the cubic that leaves a and arrives at b, stepMm apart, ends left out. */
export function bridgeSamples(a: End, b: End, stepMm: number): TraceSample[] {
  const distance = Math.hypot(b.x - a.x, b.y - a.y);
  const n = Math.max(0, Math.round(distance / stepMm) - 1);
  const ax = distance * Math.cos(a.outRad);
  const ay = distance * Math.sin(a.outRad);
  const bx = -distance * Math.cos(b.outRad);
  const by = -distance * Math.sin(b.outRad);
  const at = (t: number): [number, number] => {
    const h00 = (1 + 2 * t) * (1 - t) ** 2;
    const h10 = t * (1 - t) ** 2;
    const h01 = t * t * (3 - 2 * t);
    const h11 = t * t * (t - 1);
    return [h00 * a.x + h10 * ax + h01 * b.x + h11 * bx, h00 * a.y + h10 * ay + h01 * b.y + h11 * by];
  };
  return Array.from({ length: n }, (_, i) => {
    const t = (i + 1) / (n + 1);
    const [x, y] = at(t);
    const [x2, y2] = at(t + 0.01);
    return { x, y, headingRad: Math.atan2(y2 - y, x2 - x), sidewaysMm: [Number.NaN, Number.NaN, Number.NaN] as const };
  });
}

/** Rails that lie so much farther apart than they should, or nearer, are a track's all the same, millimetres. */
const plainSpreadMm = 1.2;
/** Seen through a lens not yet known, far from a lone marker, they may by so much, but alike over some samples. */
const mostSpreadMm = 3.5;
const alikeMm = 0.4;
const alikeSamples = 5;

/** Drops what is too short or too patchy to be track. */
export function plausibleTraces(traces: readonly RailTrace[], railCount: 2 | 3, shortestMm: number): RailTrace[] {
  return traces.filter((trace) => {
    const spreads = Float64Array.from(trace.samples, ({ sidewaysMm }) => {
      const values = sidewaysMm.filter((v) => !Number.isNaN(v));
      return values.length < railCount - 1 ? Number.POSITIVE_INFINITY : Math.max(...values) - Math.min(...values);
    });
    const seen = spreads.filter((spread, i) => {
      if (spread < plainSpreadMm) return true;
      if (!(spread < mostSpreadMm)) return false;
      return Math.abs(spread - middleOf(spreads.slice(Math.max(0, i - alikeSamples), i + alikeSamples + 1))) < alikeMm;
    }).length;
    return seen * trace.stepMm >= shortestMm && seen > 0.5 * trace.samples.length;
  });
}
