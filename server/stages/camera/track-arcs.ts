import { type Camera, photoFromTable } from '../../geometry/camera.js';
import type { RailTrace, TraceSample } from '../../scene/rail-trace.js';
import { type Arc, alongArc, type LineObservation } from '../../scene/track-observation.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../scene/track-profile.js';

/** Which samples of a trace make one arc: indices [from, to), wrapping round on closed traces. */
export interface ArcSpan {
  readonly trace: number;
  readonly from: number;
  readonly to: number;
  readonly straight: boolean;
}

/** Of one place on a rail, across it; neighbours share what a lamp's glare and rust do to them. */
export const railSigmaMm = 0.5;

export interface TrackArcs {
  readonly arcs: readonly Arc[];
  readonly straight: readonly boolean[];
  readonly observations: readonly LineObservation[];
}

/** Turns spans of traces into arcs to start from and points seen on their rails. */
export function arcsFromSpans(
  traces: readonly RailTrace[],
  spans: readonly ArcSpan[],
  cameras: readonly Camera[],
  track: TrackProfile,
  firstArc: number,
): TrackArcs {
  const arcs: Arc[] = [];
  const observations: LineObservation[] = [];
  const outer = outerHeadOffsetMm(track);
  const height = track.railTopMm - track.headWidthMm / 2;
  for (const span of spans) {
    const trace = traces[span.trace];
    const n = trace.samples.length;
    const samples = Array.from({ length: span.to - span.from }, (_, i) => trace.samples[(span.from + i) % n]);
    const arc = arcThrough(samples, trace.stepMm, span.straight);
    const at = firstArc + arcs.push(arc) - 1;
    const camera = cameras[trace.photo];
    samples.forEach((sample) => {
      const s = alongArc(arc, sample.x, sample.y);
      for (const rail of [-1, 0, 1] as const) {
        const sideways = sample.sidewaysMm[rail + 1];
        if (Number.isNaN(sideways)) continue;
        const offset = rail * outer + sideways;
        const nx = -Math.sin(sample.headingRad);
        const ny = Math.cos(sample.headingRad);
        const p = photoFromTable(camera, sample.x + offset * nx, sample.y + offset * ny, height);
        const q = photoFromTable(camera, sample.x + (offset + 1) * nx, sample.y + (offset + 1) * ny, height);
        const a = photoFromTable(
          camera,
          sample.x + Math.cos(sample.headingRad),
          sample.y + Math.sin(sample.headingRad),
          height,
        );
        const c = photoFromTable(camera, sample.x, sample.y, height);
        // Across the rail in the photo: square to the projected heading, on the side of the projected left.
        const tx = a.x - c.x;
        const ty = a.y - c.y;
        const length = Math.hypot(tx, ty);
        const sign = (q.x - p.x) * -ty + (q.y - p.y) * tx < 0 ? -1 : 1;
        const pxPerMm = Math.hypot(q.x - p.x, q.y - p.y);
        observations.push({
          photo: trace.photo,
          arc: at,
          s,
          rail,
          kind: 'rail',
          px: p.x,
          py: p.y,
          normalX: (sign * -ty) / length,
          normalY: (sign * tx) / length,
          sigmaPx: railSigmaMm * pxPerMm,
        });
      }
    });
  }
  return { arcs, straight: spans.map((s) => s.straight), observations };
}

/** Arc through the middle of a row of samples, by a least-squares parabola across the chord. */
export function arcThrough(samples: readonly TraceSample[], stepMm: number, straight: boolean): Arc {
  const first = samples[0];
  const last = samples[samples.length - 1];
  const heading = Math.atan2(last.y - first.y, last.x - first.x);
  const mx = (first.x + last.x) / 2;
  const my = (first.y + last.y) / 2;
  const c = Math.cos(heading);
  const s = Math.sin(heading);
  const rows = samples.map((p) => {
    const shift = middleOf(p.sidewaysMm);
    const x = p.x - shift * Math.sin(p.headingRad) - mx;
    const y = p.y + shift * Math.cos(p.headingRad) - my;
    return [x * c + y * s, -x * s + y * c];
  });
  const [a, b, k] = fitParabola(rows, straight);
  return {
    x: mx - a * s,
    y: my + a * c,
    headingRad: heading + Math.atan(b),
    curvaturePerMm: straight ? 0 : (2 * k) / (1 + b * b) ** 1.5,
    halfLengthMm: (samples.length * stepMm) / 2,
  };
}

function middleOf(values: readonly number[]): number {
  const seen = values.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  return seen.length === 0 ? 0 : seen[Math.floor(seen.length / 2)];
}

/** v = a + b u + k u² by normal equations; k = 0 for a straight. */
function fitParabola(rows: readonly number[][], straight: boolean): [number, number, number] {
  const m = [0, 0, 0, 0, 0];
  const r = [0, 0, 0];
  for (const [u, v] of rows) {
    let power = 1;
    for (let i = 0; i < 5; i++) {
      m[i] += power;
      if (i < 3) r[i] += power * v;
      power *= u;
    }
  }
  if (straight || rows.length < 5) {
    const d = m[0] * m[2] - m[1] * m[1];
    return d === 0 ? [r[0] / m[0], 0, 0] : [(r[0] * m[2] - r[1] * m[1]) / d, (m[0] * r[1] - m[1] * r[0]) / d, 0];
  }
  const det3 = (x: number[]): number =>
    x[0] * (x[4] * x[8] - x[5] * x[7]) - x[1] * (x[3] * x[8] - x[5] * x[6]) + x[2] * (x[3] * x[7] - x[4] * x[6]);
  const d = det3([m[0], m[1], m[2], m[1], m[2], m[3], m[2], m[3], m[4]]);
  return [
    det3([r[0], m[1], m[2], r[1], m[2], m[3], r[2], m[3], m[4]]) / d,
    det3([m[0], r[0], m[2], m[1], r[1], m[3], m[2], r[2], m[4]]) / d,
    det3([m[0], m[1], r[0], m[1], m[2], r[1], m[2], m[3], r[2]]) / d,
  ];
}
