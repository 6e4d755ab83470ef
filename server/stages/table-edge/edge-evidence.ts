import type { FinishModel } from './finish-model.js';
import { type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';
import type { LineInPhoto } from './table-lines.js';

/** Half the width of the strip looked at along a line, reduced pixels. */
export const reachPx = 14;
/** Reduced pixels averaged on each side of an edge, the edge's own pixel left out. */
const bandPx = 3;
/**
 * Finish that comes back within this many reduced pixels beyond a step says that the step is a rail or something else
 * on the table, not its end.
 */
const aheadPx = 12;
const strip = 2 * reachPx + bandPx + aheadPx + 1;

/** How far two patches must differ, in units of what bare table top differs by, to count as an edge by half. */
const halfContrast = 4;

/**
 * Evidence in −0.3…1 that the table ends here: finish inside, a step, something else outside. Finish on both sides
 * without a step speaks against; an inside that is no finish (something covers the edge, or this is no table) a little.
 */
export function evidenceOf(contrast2: number, inside: number, outside: number): number {
  const step = contrast2 / (contrast2 + halfContrast * halfContrast);
  const here = step * (0.35 + 0.65 * (1 - outside)) - 0.3 * (1 - step);
  return inside * here - 0.15 * (1 - inside);
}

/** Evidence for each place along a line (rows) and each shift outwards from −reachPx to reachPx (columns). */
export function evidenceStrip(reduced: ReducedPhoto, finish: FinishModel, line: LineInPhoto): Float32Array {
  const columns = 2 * reachPx + 1;
  const out = new Float32Array(line.count * columns);
  const row = new Float32Array(4 * strip);
  for (let i = 0; i < line.count; i++) {
    const qx = reducedFromPhoto(reduced.scale, line.px[i]);
    const qy = reducedFromPhoto(reduced.scale, line.py[i]);
    sampleRow(reduced, finish, qx, qy, line.nx[i], line.ny[i], row);
    for (let c = 0; c < columns; c++) out[i * columns + c] = evidenceInRow(row, c + bandPx);
  }
  return out;
}

function evidenceInRow(row: Float32Array, at: number): number {
  let contrast2 = 0;
  for (let channel = 0; channel < 3; channel++) {
    let d = 0;
    for (let k = 1; k <= bandPx; k++) d += row[4 * (at + k) + channel] - row[4 * (at - k) + channel];
    contrast2 += (d / bandPx) ** 2;
  }
  let inside = 0;
  for (let k = 1; k <= bandPx; k++) inside += row[4 * (at - k) + 3];
  let outside = 0;
  for (let k = 1; k + bandPx - 1 <= aheadPx; k++) {
    let band = 0;
    for (let j = k; j < k + bandPx; j++) band += row[4 * (at + j) + 3];
    outside = Math.max(outside, band);
  }
  return evidenceOf(contrast2, inside / bandPx, outside / bandPx);
}

/** Contrast (three channels) and likeness along the normal, bilinear, the border repeated. */
function sampleRow(
  reduced: ReducedPhoto,
  finish: FinishModel,
  qx: number,
  qy: number,
  nx: number,
  ny: number,
  row: Float32Array,
): void {
  const { widthPx, heightPx } = reduced;
  const { contrast, likeness } = finish;
  for (let k = 0; k < strip; k++) {
    const t = k - reachPx - bandPx;
    const x = Math.min(Math.max(qx + t * nx, 0), widthPx - 1.001);
    const y = Math.min(Math.max(qy + t * ny, 0), heightPx - 1.001);
    const x0 = Math.floor(x);
    const y0 = Math.floor(y);
    const fx = x - x0;
    const fy = y - y0;
    const at = y0 * widthPx + x0;
    const a = (1 - fx) * (1 - fy);
    const b = fx * (1 - fy);
    const c = (1 - fx) * fy;
    const d = fx * fy;
    const below = at + widthPx;
    for (let channel = 0; channel < 3; channel++)
      row[4 * k + channel] =
        a * contrast[3 * at + channel] +
        b * contrast[3 * at + 3 + channel] +
        c * contrast[3 * below + channel] +
        d * contrast[3 * below + 3 + channel];
    row[4 * k + 3] = a * likeness[at] + b * likeness[at + 1] + c * likeness[below] + d * likeness[below + 1];
  }
}
