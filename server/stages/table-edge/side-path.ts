import { evidenceStrip, reachPx } from './edge-evidence.js';
import { alongMm } from './edge-places.js';
import type { FinishModel } from './finish-model.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import type { ReducedPhoto } from './reduced-photo.js';
import type { LineInPhoto, LineProjector, OutlineLine } from './table-lines.js';

/** A possible side: the path of an edge that a lens not yet known may bow, and what speaks for it along the way. */
export interface SidePath {
  readonly line: OutlineLine;
  readonly inPhoto: LineInPhoto;
  /** Shift outwards from the line in photo pixels as a polynomial of `along`. */
  readonly shiftPx: readonly number[];
  /** −0.3…1 at each place, as in edge-evidence.ts. */
  readonly evidence: Float64Array;
}

const columns = 2 * reachPx + 1;
/** A path may bow: it costs this much evidence to step aside by one reduced pixel. */
const stepCost = 0.6;

/** The best chain of edges through the strip: one shift a place, neighbours at most one apart (dynamic programming). */
function bestChain(strip: Float32Array, count: number): Int16Array {
  let score = Float64Array.from(strip.subarray(0, columns));
  const from = new Int8Array(count * columns);
  for (let i = 1; i < count; i++) {
    const next = new Float64Array(columns);
    for (let c = 0; c < columns; c++) {
      let best = score[c];
      let step = 0;
      if (c > 0 && score[c - 1] - stepCost > best) {
        best = score[c - 1] - stepCost;
        step = -1;
      }
      if (c < columns - 1 && score[c + 1] - stepCost > best) {
        best = score[c + 1] - stepCost;
        step = 1;
      }
      next[c] = best + strip[i * columns + c];
      from[i * columns + c] = step;
    }
    score = next;
  }
  const chain = new Int16Array(count);
  let c = score.indexOf(Math.max(...score));
  for (let i = count - 1; i >= 0; i--) {
    chain[i] = c;
    c += from[i * columns + c];
  }
  return chain;
}

/** A smooth curve through the chain, where the evidence is good; far places lose their weight. */
function fitChain(line: LineInPhoto, strip: Float32Array, chain: Int16Array): readonly number[] | null {
  const x: number[] = [];
  const y: number[] = [];
  const e: number[] = [];
  for (let i = 0; i < line.count; i++) {
    const evidence = strip[i * columns + chain[i]];
    if (evidence < 0.15) continue;
    x.push(line.sMm[i] / alongMm);
    y.push(chain[i] - reachPx);
    e.push(evidence);
  }
  if (x.length < 8) return null;
  // A bow is only believed where the edge was seen over most of the line: elsewhere it would run away.
  const total = line.sMm[line.count - 1] - line.sMm[0];
  const bowed = (Math.max(...x) - Math.min(...x)) * alongMm > 0.6 * total;
  let shift: readonly number[] = [];
  let weight = e;
  for (let round = 0; round < 6; round++) {
    const degree = round < 2 || !bowed ? 1 : 2;
    const fitted = fitPolynomial(x, y, weight, degree);
    if (!fitted) return null;
    shift = fitted;
    const width = round < 2 ? 3 : 1.2;
    weight = e.map((v, i) => v / (1 + ((y[i] - evaluatePolynomial(fitted, x[i])) / width) ** 2));
  }
  return shift;
}

/** Follows the edge near a proposed line; null when there is none. */
export function followSide(
  projector: LineProjector,
  reduced: ReducedPhoto,
  finish: FinishModel,
  marks: Uint8Array,
  line: OutlineLine,
): SidePath | null {
  const inPhoto = projector.lineInPhoto(line, 3 * reduced.scale, 3 * reduced.scale);
  if (inPhoto.count < 12) return null;
  const strip = evidenceStrip(reduced, finish, marks, inPhoto);
  const shift = fitChain(inPhoto, strip, bestChain(strip, inPhoto.count));
  if (!shift) return null;
  const evidence = new Float64Array(inPhoto.count);
  for (let i = 0; i < inPhoto.count; i++) {
    const centre = Math.round(evaluatePolynomial(shift, inPhoto.sMm[i] / alongMm)) + reachPx;
    let best = -0.3;
    for (let c = Math.max(0, centre - 1); c <= Math.min(columns - 1, centre + 1); c++)
      best = Math.max(best, strip[i * columns + c]);
    evidence[i] = best;
  }
  return { line, inPhoto, shiftPx: shift.map((v) => v * reduced.scale), evidence };
}
