import { timesWhite } from './cut-off-light.js';
import { facingSlope, fewColumns } from './end-clearness.js';
import { type EndLevels, type LevelsAtEach, productOf } from './end-levels.js';
import type { RailPart } from './rail-parts.js';
import type { RailStrip } from './rail-strips.js';

/** How likely one part of one rail ends at each of the places about a rough end. */
export interface EndLikelihood {
  readonly part: RailPart['part'];
  readonly rail: number;
  readonly acrossMm: number;
  /** Logarithm of the density at each of `weighedMm`. */
  readonly log: Float64Array;
}

/** Step of the places that are weighed, and how far they reach on both sides of a rough end. */
export const weighedStepMm = 0.1;
export const weighedReachMm = 1.5;

/** The places that are weighed, millimetres beyond the rough end. */
export const weighedMm: readonly number[] = Array.from(
  { length: Math.round((2 * weighedReachMm) / weighedStepMm) + 1 },
  (_, i) => i * weighedStepMm - weighedReachMm,
);

/** What is looked at of the rail, and of what is beyond its end, millimetres from the rough end. */
const railMm = 5;
const farthestMm = 4;

/** Beyond an end no more of a gap is looked at than this: there the rails begin again. */
const shareOfGap = 0.8;

/** An upright end face that is seen for less than this along the rail is lost in the blur. */
const leastFaceMm = 0.35;

/**
 * Of the end face of a head the rim and the hollow, in shadow above and often lit below, are seen one after the other, and
 * a pin may come out of it: two levels stand for them. Below the head the end of the web is seen, down to the flange: one
 * more. Without it a lit web passed for the end, up to 3 mm beyond it, and one in shadow drew the end back.
 */
const faceLevels = 2;

/** Columns whose faces differ by less than this, or whose light by less than this share, are told by the same levels. */
const alikeMm = 0.06;
const alikeShare = 0.05;

/** Light that a level leaves unexplained even where a column shows no grain, linear light. */
const leastNoise = 0.03;

/** A column that no level fits speaks against every place alike: squares beyond this many times the noise count ever less. */
const enoughSquares = 6;

/** So many samples go together, along and across, and in the errors of the levels: they tell as much as one. */
const samplesAlike = 10;

/** How often a part ends elsewhere than the rails do: a pin, rust or a tie, and light on the tips of flanges, pass for an end. */
const astray = { head: 0.2, flange: 0.4 };

/**
 * How likely a part ends at each place about a rough end: by how well its columns are told, each by its own levels of rail
 * and of what is beyond, if the end is there. Grain along the rail makes a column tell less.
 * @param placesMm where samples are taken, from `samplePlaces`
 * @param levelsAtEach functions of levels for these places and the end at each of `weighedMm`
 * @returns null where too little of the part is seen
 */
export function endLikelihood(
  view: RailPart,
  nearMm: number,
  towards: 1 | -1,
  placesMm: readonly number[],
  levelsAtEach: LevelsAtEach,
): EndLikelihood | null {
  const { strip } = view;
  const nearRow = Math.round(nearMm / strip.stepMm);
  const columns = view.columnsAt(nearRow);
  const squares = new Float64Array(weighedMm.length);
  const samples = new Float64Array(placesMm.length);
  const bright = timesWhite(view, nearMm, towards);
  let seen = 0;
  for (const k of columns) {
    const at = nearMm + view.shiftMmAt(nearRow, k);
    const noiseVariance = leastNoise ** 2 + grainVariance(strip, k, at, towards);
    let sum = 0;
    for (let i = 0; i < placesMm.length; i++) {
      samples[i] = lightAt(strip, k, at + towards * placesMm[i]);
      sum += samples[i] * samples[i];
    }
    if (Number.isNaN(sum + noiseVariance)) continue;
    seen++;
    levelsAtEach(levelsOf(view, nearRow, k, towards, bright[k])).forEach((functions, p) => {
      const left = functions.reduce((rest, f) => rest - productOf(f, samples) ** 2, sum);
      const ratio = Math.max(0, left) / (placesMm.length * noiseVariance);
      squares[p] += (placesMm.length * enoughSquares * ratio) / (enoughSquares + ratio);
    });
  }
  if (seen < fewColumns) return null;
  return { part: view.part, rail: view.rail, acrossMm: view.acrossMm, log: densityOf(squares, astray[view.part]) };
}

/** Places where a column is looked at, millimetres beyond a rough end, if the gap is this wide. */
export function samplePlaces(stepMm: number, beyondMm: number): number[] {
  const toMm = Math.min(farthestMm, shareOfGap * beyondMm);
  return Array.from({ length: Math.floor((toMm + railMm) / stepMm) + 1 }, (_, i) => i * stepMm - railMm);
}

/** Levels of a column: they change at the end, and along the end face where that is seen. */
function levelsOf(view: RailPart, row: number, k: number, towards: 1 | -1, times: number): EndLevels {
  const timesWhite = Math.exp(alikeShare * Math.round(Math.log(times) / alikeShare));
  const alike = (mm: number): number => alikeMm * Math.round(mm / alikeMm);
  const slope = towards * view.slopesAt(row).along;
  const faceMm = alike(towards * view.faceMmAt(row, k));
  if (slope < facingSlope || faceMm < leastFaceMm) return { edgesMm: [0], drift: view.part === 'flange', timesWhite };
  const edgesMm = Array.from({ length: faceLevels + 1 }, (_, i) => (i * faceMm) / faceLevels);
  const footMm = alike(slope * view.overFlangeMm);
  if (footMm - faceMm > leastFaceMm) edgesMm.push(footMm);
  return { edgesMm, drift: false, timesWhite };
}

/** The logarithm of the density that squares, in units of their noise, leave to each place. */
function densityOf(squares: Float64Array, astrayShare: number): Float64Array {
  const least = squares.reduce((a, b) => Math.min(a, b));
  const likely = squares.map((v) => Math.exp((least - v) / (2 * samplesAlike)));
  const whole = likely.reduce((a, b) => a + b) * weighedStepMm;
  return likely.map((v) => Math.log(((1 - astrayShare) * v) / whole + astrayShare / (2 * weighedReachMm)));
}

/** Stretch of the rail from which its grain is told, millimetres before the end. */
const grainFromMm = 3;
const grainToMm = 16;

/** Half the mean squared difference of a column's light at places two rows apart. */
function grainVariance({ stepMm, rows, columns, data }: RailStrip, k: number, at: number, towards: 1 | -1): number {
  let [sum, count] = [0, 0];
  for (let d = grainFromMm; d <= grainToMm; d += stepMm) {
    const row = Math.round((at - towards * d) / stepMm);
    if (row < 2 || row >= rows) continue;
    const difference = data[row * columns + k] - data[(row - 2) * columns + k];
    if (Number.isNaN(difference)) continue;
    sum += difference * difference;
    count++;
  }
  return count > 0 ? sum / (2 * count) : 0;
}

/** A column's light at a place along the strip; NaN outside it. */
function lightAt({ stepMm, rows, columns, data }: RailStrip, k: number, atMm: number): number {
  const q = atMm / stepMm;
  const row = Math.floor(q);
  if (row < 0 || row + 1 >= rows) return Number.NaN;
  const a = data[row * columns + k];
  return a + (q - row) * (data[(row + 1) * columns + k] - a);
}
