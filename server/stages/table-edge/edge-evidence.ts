import type { FinishModel } from './finish-model.js';
import { type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';
import type { LineInPhoto } from './table-lines.js';
import { besideTrack, onTrack } from './track-zone.js';

/** Half the width of the strip looked at along a line, reduced pixels. */
export const reachPx = 14;
/** Reduced pixels averaged on each side of an edge, the edge's own pixel left out. */
const bandPx = 3;
const strip = 2 * (reachPx + bandPx) + 1;
/**
 * Finish that comes back within this beyond a step says that the step is a rail or something else on the table, not its
 * end: wider than a track.
 */
const aheadMm = 55;
const mostAheadPx = 64;
/** Places this far apart are looked at ahead, reduced pixels. */
const aheadStepPx = 2;
/** Share of a step's evidence that is left when what lies ahead of it is outside the picture. */
const blindShare = 0.35;
/** Beside the track the finish lies in its shade: it need not look like finish. */
const shadedLikeness = 0.7;

/** How far two patches must differ, in units of what bare table top differs by, to count as an edge by half. */
const halfContrast = 4;

/** Share of a step's evidence that is left when the same finish goes on beyond it: then it is a seam or a scratch. */
const sameShare = 0.05;

/**
 * Evidence in −0.3…1 that the table ends here: finish inside, a step, something else outside. Finish on both sides
 * without a step speaks against; an inside that is no finish (something covers the edge, or this is no table) a little.
 */
export function evidenceOf(contrast2: number, inside: number, outside: number): number {
  const step = contrast2 / (contrast2 + halfContrast * halfContrast);
  const here = step * (sameShare + (1 - sameShare) * (1 - outside)) - 0.3 * (1 - step);
  return inside * here - 0.15 * (1 - inside);
}

/**
 * Evidence for each place along a line (rows) and each shift outwards from −reachPx to reachPx (columns).
 * @param marks what the known track covers, as in track-zone.ts: a step at the track is the track's, and says nothing
 */
export function evidenceStrip(
  reduced: ReducedPhoto,
  finish: FinishModel,
  marks: Uint8Array,
  line: LineInPhoto,
): Float32Array {
  const columns = 2 * reachPx + 1;
  const out = new Float32Array(line.count * columns);
  const row = new Float32Array(4 * strip);
  const ahead = new Float32Array(Math.ceil((2 * reachPx + mostAheadPx) / aheadStepPx) + 3);
  for (let i = 0; i < line.count; i++) {
    const qx = reducedFromPhoto(reduced.scale, line.px[i]);
    const qy = reducedFromPhoto(reduced.scale, line.py[i]);
    sampleRow(reduced, finish, qx, qy, line.nx[i], line.ny[i], row);
    const aheadPx = Math.min(mostAheadPx, Math.max(12, (aheadMm * line.pxPerMm[i]) / reduced.scale));
    sampleAhead(reduced, finish, qx, qy, line.nx[i], line.ny[i], ahead);
    for (let c = 0; c < columns; c++) {
      const t = c - reachPx - 1.5;
      const x = Math.min(Math.max(Math.round(qx + t * line.nx[i]), 0), reduced.widthPx - 1);
      const y = Math.min(Math.max(Math.round(qy + t * line.ny[i]), 0), reduced.heightPx - 1);
      const mark = marks[y * reduced.widthPx + x];
      out[i * columns + c] = mark === onTrack ? 0 : evidenceInRow(row, c + bandPx, ahead, c, aheadPx, mark);
    }
  }
  return out;
}

function evidenceInRow(
  row: Float32Array,
  at: number,
  ahead: Float32Array,
  shift: number,
  aheadPx: number,
  mark: number,
): number {
  let contrast2 = 0;
  for (let channel = 0; channel < 3; channel++) {
    let d = 0;
    for (let k = 1; k <= bandPx; k++) d += row[4 * (at + k) + channel] - row[4 * (at - k) + channel];
    contrast2 += (d / bandPx) ** 2;
  }
  let inside = 0;
  let outside = 0;
  for (let k = 1; k <= bandPx; k++) {
    inside += row[4 * (at - k) + 3];
    outside += row[4 * (at + k) + 3];
  }
  inside /= bandPx;
  outside /= bandPx;
  if (mark === besideTrack) inside = Math.max(inside, shadedLikeness);
  // Two places ahead, 4 px together, must look like finish for it to have come back.
  const first = Math.ceil((shift + 2) / aheadStepPx);
  const last = Math.floor((shift + aheadPx) / aheadStepPx);
  let known = 0;
  for (let k = first; k < last && k + 1 < ahead.length; k++) {
    if (Number.isNaN(ahead[k + 1])) break;
    known++;
    outside = Math.max(outside, Math.min(ahead[k], ahead[k + 1]));
  }
  const evidence = evidenceOf(contrast2, inside, outside);
  const seen = last > first ? known / (last - first) : 1;
  return evidence > 0 ? evidence * (blindShare + (1 - blindShare) * seen) : evidence;
}

/** Likeness at places aheadStepPx apart from −reachPx outwards, nearest pixel; NaN outside the picture. */
function sampleAhead(
  reduced: ReducedPhoto,
  finish: FinishModel,
  qx: number,
  qy: number,
  nx: number,
  ny: number,
  ahead: Float32Array,
): void {
  const { widthPx, heightPx } = reduced;
  for (let k = 0; k < ahead.length; k++) {
    const t = k * aheadStepPx - reachPx;
    const x = Math.round(qx + t * nx);
    const y = Math.round(qy + t * ny);
    const isIn = x >= 0 && y >= 0 && x < widthPx && y < heightPx;
    ahead[k] = isIn ? finish.likeness[y * widthPx + x] : Number.NaN;
  }
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
