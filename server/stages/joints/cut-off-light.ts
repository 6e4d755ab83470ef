import type { RailPart } from './rail-parts.js';

/** Linear light of the brightest channel from which on a photo may have cut it off: that of the last four codes. */
const white = 0.97;

/** Rows before an end that tell how bright the rail is there, millimetres from it. */
const railFromMm = 1;
const railToMm = 8;

/** A column of which a greater share of the rows is cut off counts as cut off: what is white but here and there is grain. */
const leastShare = 0.2;

/**
 * How fast light falls off beside what is cut off, in its logarithm from column to column of `endShape` (0.3 mm): at most,
 * and where it is not seen.
 */
const steepest = 1.2;
const unseenSlope = 0.2;

/** Columns from each side of what is cut off over which the slope there is told. */
const flankColumns = 2;

/**
 * How many times white each column's light would be before the end of a rail, had the photo not cut it off: 1 where it did
 * not. What shines on a round head or a flange, blurred, falls off from its middle about as a normal curve does, whose
 * logarithm is a parabola: how wide it is cut off and how steep it is beside that tell how high it goes.
 */
export function timesWhite(view: RailPart, nearMm: number, towards: 1 | -1): Float64Array {
  const { light, cutShare } = brightestBefore(view, nearMm, towards);
  const out = new Float64Array(light.length).fill(1);
  for (let first = 0; first < light.length; first++) {
    if (!(cutShare[first] > leastShare)) continue;
    let last = first;
    while (cutShare[last + 1] > leastShare) last++;
    const half = (last - first + 1) / 2;
    const middle = (first + last) / 2;
    // The slope of a parabola grows with the distance from its middle, and is told in the middle of the flanks.
    const slopeAt = half + (flankColumns + 1) / 2;
    const highest = (slopeBeside(light, first, last) * half ** 2) / (2 * slopeAt);
    for (let k = first; k <= last; k++) out[k] = Math.exp(highest * (1 - ((k - middle) / half) ** 2));
    first = last;
  }
  return out;
}

/** Mean slope on both sides of what is cut off, from its first column to its last. */
function slopeBeside(light: Float64Array, first: number, last: number): number {
  let [sum, sides] = [0, 0];
  for (const [near, far] of [
    [first - 1, first - 1 - flankColumns],
    [last + 1, last + 1 + flankColumns],
  ]) {
    if (far < 0 || far >= light.length) continue;
    sum += Math.log(Math.max(tiny, light[near]) / Math.max(tiny, light[far])) / flankColumns;
    sides++;
  }
  return sides > 0 ? Math.max(0, Math.min(steepest, sum / sides)) : unseenSlope;
}

const tiny = 1e-4;

/** Mean light of the brightest channel in each column before an end, and in how many of the rows it is cut off. */
function brightestBefore(view: RailPart, nearMm: number, towards: 1 | -1) {
  const { stepMm, rows, columns } = view.strip;
  const light = new Float64Array(columns);
  const cutShare = new Float64Array(columns);
  let count = 0;
  for (let d = railFromMm; d <= railToMm; d += stepMm) {
    const row = Math.round((nearMm - towards * d) / stepMm);
    if (row < 0 || row >= rows) continue;
    const brightest = view.brightestAt(row);
    if (brightest.some(Number.isNaN)) continue;
    for (let k = 0; k < columns; k++) {
      light[k] += brightest[k];
      if (brightest[k] > white) cutShare[k]++;
    }
    count++;
  }
  for (let k = 0; k < columns; k++) {
    light[k] /= count;
    cutShare[k] /= count;
  }
  return { light, cutShare };
}
