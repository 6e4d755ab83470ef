import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import { bridgeSamples, type End, endsOf, reversed } from './join-traces.js';

/** What is left of a trace must be this long to stay, millimetres. */
const shortestLeftMm = 60;

type Place = { readonly x: number; readonly y: number };

/** Takes samples out of traces; what remains on both sides becomes runs of their own, too short ones go. */
export function withoutSamples(
  traces: readonly RailTrace[],
  isFalse: (sample: TraceSample, trace: RailTrace) => boolean,
): RailTrace[] {
  return traces.flatMap((trace) => {
    const kept = trace.samples.map((s) => !isFalse(s, trace));
    if (kept.every((k) => k)) return [trace];
    // A loop is opened where something is taken out, so that its seam does not cut what remains.
    const first = trace.closed ? kept.indexOf(false) : 0;
    const parts: TraceSample[][] = [[]];
    for (let k = 0; k < kept.length; k++) {
      const i = (first + k) % kept.length;
      if (kept[i]) parts[parts.length - 1].push(trace.samples[i]);
      else if (parts[parts.length - 1].length > 0) parts.push([]);
    }
    const long = parts.filter((p) => (p.length - 1) * trace.stepMm >= shortestLeftMm);
    return long.map((samples) => ({ ...trace, closed: false, samples }));
  });
}

/** Cuts every trace that passes within reach of a place into two runs; a loop is opened there. Returns null when none does. */
export function splitAt(traces: readonly RailTrace[], at: Place, withinMm: number): RailTrace[] | null {
  let cut = false;
  const out = traces.flatMap((trace) => {
    const i = nearestSample(trace, at, withinMm);
    if (i === null) return [trace];
    if (trace.closed) {
      cut = true;
      return [{ ...trace, closed: false, samples: [...trace.samples.slice(i), ...trace.samples.slice(0, i)] }];
    }
    const parts = [trace.samples.slice(0, i), trace.samples.slice(i)];
    if (parts.some((p) => p.length < 2)) return [trace];
    cut = true;
    return parts.map((samples) => ({ ...trace, samples }));
  });
  return cut ? out : null;
}

/**
 * Makes one run of the two free ends nearest to two places, in every photo that shows both. What lies between is geometry
 * only until the rails are looked for there. Returns null when no photo shows two free ends there.
 */
export function joinEnds(
  traces: readonly RailTrace[],
  places: readonly [Place, Place],
  withinMm: number,
): RailTrace[] | null {
  let now = [...traces];
  let joined = false;
  for (const photo of new Set(traces.map((t) => t.photo))) {
    const ends = endsOf(now).filter((e) => now[e.trace].photo === photo);
    const a = nearestEnd(ends, places[0], withinMm);
    const b = nearestEnd(
      ends.filter((e) => e !== a),
      places[1],
      withinMm,
    );
    if (!a || !b) continue;
    joined = true;
    const { stepMm } = now[a.trace];
    if (a.trace === b.trace) {
      const [last, first] = a.last ? [a, b] : [b, a];
      const bridge = bridgeSamples(last, first, stepMm);
      now = now.map((t, i) => (i === a.trace ? { ...t, closed: true, samples: [...t.samples, ...bridge] } : t));
      continue;
    }
    const first = a.last ? now[a.trace] : reversed(now[a.trace]);
    const second = b.last ? reversed(now[b.trace]) : now[b.trace];
    const samples = [...first.samples, ...bridgeSamples(a, b, stepMm), ...second.samples];
    now = [...now.filter((_, i) => i !== a.trace && i !== b.trace), { ...first, samples }];
  }
  return joined ? now : null;
}

function nearestEnd(ends: readonly End[], at: Place, withinMm: number): End | null {
  let best: End | null = null;
  let least = withinMm;
  for (const end of ends) {
    const d = Math.hypot(end.x - at.x, end.y - at.y);
    if (d < least) {
      least = d;
      best = end;
    }
  }
  return best;
}

function nearestSample(trace: RailTrace, at: Place, withinMm: number): number | null {
  let best: number | null = null;
  let least = withinMm;
  trace.samples.forEach((s, i) => {
    const d = Math.hypot(s.x - at.x, s.y - at.y);
    if (d < least) {
      least = d;
      best = i;
    }
  });
  return best;
}

/** True inside a polygon (even-odd rule). */
export function isWithin(area: readonly Place[], x: number, y: number): boolean {
  let inside = false;
  for (let i = 0, j = area.length - 1; i < area.length; j = i++) {
    const [a, b] = [area[i], area[j]];
    if (a.y > y !== b.y > y && x < a.x + ((y - a.y) / (b.y - a.y)) * (b.x - a.x)) inside = !inside;
  }
  return inside;
}
