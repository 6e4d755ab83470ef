import { alongMm, type EdgeCurve } from './edge-places.js';
import { leastStep } from './mean-steps.js';
import type { MeanSide } from './outline-by-means.js';
import { fitPolynomial } from './polynomial.js';
import { type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';
import type { LineInPhoto, LineProjector } from './table-lines.js';

/** Half the width of the strip looked at along a line, and of the bands compared on both sides of an edge, reduced pixels. */
const reachPx = 14;
const bandPx = 3;
const strip = 2 * (reachPx + bandPx) + 1;
/** So many stretches of a side are averaged each: long enough to drown boards, short enough for a bow. */
const stretches = 8;
/** How far the middle of a side, its ends against each other and its bow may lie off the line, reduced pixels. */
const most = { shift: 8, tilt: 6, bow: 4 };

/**
 * Where the edge of a side that shows on average lies to a pixel or two of the reduced picture: the shift, tilt and bow
 * with the largest mean steps across it, stretch by stretch.
 * @param marks what the known track covers, as in track-zone.ts: it is left out
 */
export function followMeans(
  projector: LineProjector,
  reduced: ReducedPhoto,
  marks: Uint8Array,
  side: MeanSide,
): EdgeCurve {
  const { line, fromMm, toMm } = side;
  const places = projector.lineInPhoto(line, 3 * reduced.scale, 3 * reduced.scale);
  const from = places.sMm.findIndex((s) => s >= fromMm);
  const to = places.sMm.findLastIndex((s) => s <= toMm) + 1;
  const still: EdgeCurve = { line, shiftPx: [0], fromMm, toMm };
  if (from < 0 || to - from < 3 * stretches) return still;
  const strengths = Array.from({ length: stretches }, (_, w) =>
    strengthsIn(
      reduced,
      marks,
      places,
      from + Math.floor((w * (to - from)) / stretches),
      from + Math.floor(((w + 1) * (to - from)) / stretches),
    ),
  );
  const shifts = strongest(strengths);
  const along = strengths.map((_, w) => places.sMm[from + Math.floor(((w + 0.5) * (to - from)) / stretches)] / alongMm);
  const shiftPx = fitPolynomial(
    along,
    shifts.map((s) => s * reduced.scale),
    shifts.map(() => 1),
    2,
  );
  return shiftPx ? { ...still, shiftPx } : still;
}

/** How large the mean step is at each shift from −reachPx to reachPx, over some places of a line. */
function strengthsIn(
  { look, widthPx, heightPx, scale }: ReducedPhoto,
  marks: Uint8Array,
  places: LineInPhoto,
  from: number,
  to: number,
): Float64Array {
  const sums = new Float64Array(4 * strip);
  for (let i = from; i < to; i++)
    for (let k = 0; k < strip; k++) {
      const t = k - reachPx - bandPx;
      const x = Math.round(reducedFromPhoto(scale, places.px[i]) + t * places.nx[i]);
      const y = Math.round(reducedFromPhoto(scale, places.py[i]) + t * places.ny[i]);
      const at = y * widthPx + x;
      if (x < 0 || y < 0 || x >= widthPx || y >= heightPx || marks[at] > 0) continue;
      for (let c = 0; c < 3; c++) sums[4 * k + c] += look[3 * at + c];
      sums[4 * k + 3]++;
    }
  return Float64Array.from({ length: 2 * reachPx + 1 }, (_, s) => {
    const inner = meanOf(sums, s, s + bandPx);
    const outer = meanOf(sums, s + bandPx + 1, s + 2 * bandPx + 1);
    return inner && outer ? Math.hypot(...inner.map((v, c) => (v - outer[c]) / leastStep[c])) : 0;
  });
}

function meanOf(sums: Float64Array, from: number, to: number): number[] | null {
  const total = [0, 0, 0, 0];
  for (let i = 4 * from; i < 4 * to; i++) total[i % 4] += sums[i];
  return total[3] > 0 ? [0, 1, 2].map((c) => total[c] / total[3]) : null;
}

/** The shift of each stretch, on a parabola, with the largest strengths together. */
function strongest(strengths: readonly Float64Array[]): number[] {
  const n = strengths.length;
  const u = strengths.map((_, w) => (2 * (w + 0.5)) / n - 1);
  let best = Number.NEGATIVE_INFINITY;
  let shifts = u.map(() => 0);
  for (let shift = -most.shift; shift <= most.shift; shift++)
    for (let tilt = -most.tilt; tilt <= most.tilt; tilt++)
      for (let bow = -most.bow; bow <= most.bow; bow++) {
        const at = u.map((v) => shift + tilt * v + bow * (v * v - 1 / 3));
        let score = 0;
        at.forEach((s, w) => {
          score += strengths[w][Math.max(0, Math.min(2 * reachPx, Math.round(s) + reachPx))];
        });
        // Of two that are alike, the one that moves less.
        score *= 1 - 0.002 * (Math.abs(shift) + Math.abs(tilt) + Math.abs(bow));
        if (score <= best) continue;
        best = score;
        shifts = at;
      }
  return shifts;
}
