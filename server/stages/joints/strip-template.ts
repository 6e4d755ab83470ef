import { middleInPlace } from '../../linalg/middle.js';
import type { RailStrip } from './rail-strips.js';

/** How a rail looks across, slowly changing along the run: for each row of the strip a profile in root brightness. */
export interface StripTemplate {
  readonly columns: number;
  readonly blockRows: number;
  readonly blocks: readonly Float32Array[];
}

/** Medians over blocks of the strip, then over neighbouring blocks that look like rail, so that gaps and objects on it drop out. */
export function makeTemplate(strip: RailStrip, blockMm: number): StripTemplate {
  const { rows, columns, data } = strip;
  const blockRows = Math.max(4, Math.round(blockMm / strip.stepMm));
  const count = Math.max(1, Math.round(rows / blockRows));
  const own: Float32Array[] = [];
  for (let b = 0; b < count; b++) {
    const from = Math.floor((b * rows) / count);
    const to = Math.floor(((b + 1) * rows) / count);
    const profile = new Float32Array(columns);
    const values = new Float64Array(to - from);
    for (let k = 0; k < columns; k++) {
      let seen = 0;
      for (let i = from; i < to; i++) {
        const v = data[i * columns + k];
        if (!Number.isNaN(v)) values[seen++] = v;
      }
      profile[k] = Math.sqrt(middleInPlace(values.subarray(0, seen)));
    }
    own.push(profile);
  }
  const near = (list: readonly (Float32Array | null)[], b: number, reach: number): Float32Array[] =>
    list.slice(Math.max(0, b - reach), b + reach + 1).filter((p) => p !== null);
  const strange = strangeBlocks(own);
  const usual = own.map((profile, b) => (strange[b] ? null : profile));
  const blocks = own.map((_, b) => {
    const known = near(usual, b, nearBlocks);
    return middle(known.length > 0 ? known : near(usual, b, widestBlocks + nearBlocks));
  });
  return { columns, blockRows: rows / count, blocks };
}

/** A block's look is the middle of so many on each side; the light on a rail changes along a curve. */
const nearBlocks = 2;
/** What covers a rail is longer at times: as many blocks on each side of its middle, at most. */
const widestBlocks = 4;
/** Track on both sides of a cover looks alike but for how much light lies on it, as far as … */
const alikeBlocks = 0.25;
/** … and the cover otherwise than either. */
const strangeBlock = 0.6;

/** For each block, whether it lies in something between two stretches of rail that look like each other and not like it. */
function strangeBlocks(own: readonly Float32Array[]): boolean[] {
  const before = own.map((_, b) => middle(own.slice(Math.max(0, b - nearBlocks), b + 1)));
  const after = own.map((_, b) => middle(own.slice(b, b + nearBlocks + 1)));
  return own.map((profile, b) => {
    for (let half = 1; half <= widestBlocks && b - half >= 0 && b + half < own.length; half++) {
      const [p, q] = [before[b - half], after[b + half]];
      if (
        differenceOf(inLightOf(p, q), q) < alikeBlocks &&
        differenceOf(profile, p) > strangeBlock &&
        differenceOf(profile, q) > strangeBlock
      )
        return true;
    }
    return false;
  });
}

/** A profile made as bright as another. */
function inLightOf(profile: Float32Array, other: Float32Array): Float32Array {
  let [both, own] = [0, 1e-9];
  for (let k = 0; k < profile.length; k++) {
    both += profile[k] * other[k];
    own += profile[k] * profile[k];
  }
  return profile.map((v) => (v * both) / own);
}

const middle = (profiles: readonly Float32Array[]): Float32Array =>
  Float32Array.from({ length: profiles[0].length }, (_, k) => medianOf(profiles.map((p) => p[k])));

/** Squared difference of two profiles over the structure of the second. */
function differenceOf(profile: Float32Array, usual: Float32Array): number {
  const mean = usual.reduce((a, b) => a + b, 0) / usual.length;
  let [difference, structure] = [0, flatStructure * usual.length];
  for (let k = 0; k < usual.length; k++) {
    difference += (profile[k] - usual[k]) ** 2;
    structure += (usual[k] - mean) ** 2;
  }
  return difference / structure;
}

/** Structure of a profile below which none is told from grain, a column. */
const flatStructure = 2e-4;

export function templateAt(template: StripTemplate, row: number): Float32Array {
  const b = Math.floor(row / template.blockRows);
  return template.blocks[Math.max(0, Math.min(template.blocks.length - 1, b))];
}

export function medianOf(values: readonly number[]): number {
  const seen = new Float64Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) if (!Number.isNaN(values[i])) seen[count++] = values[i];
  return middleInPlace(seen.subarray(0, count));
}

/** How far the centre line may lie beside the rail without the rail counting as missing, columns of the strip. */
const slackColumns = 4;

/** Shifts by up to that much, from the middle outwards. */
const shifts = Int32Array.of(0, ...Array.from({ length: slackColumns }, (_, i) => [-1 - i, 1 + i]).flat());

/**
 * How unlike the rail each row is: squared difference to the template over the template's own structure, at the best of a
 * few sideways shifts; 0 for the rail itself, about 1 and more where there is none. Rows outside the photo give NaN.
 * @param halfRows rows on each side that are averaged with it
 */
export function unlikeness(strip: RailStrip, template: StripTemplate, halfRows: number): Float32Array {
  const { rows, columns, data } = strip;
  const out = new Float32Array(rows);
  const level = new Float32Array(columns);
  const first = slackColumns;
  const last = columns - slackColumns;
  for (let i = 0; i < rows; i++) {
    const look = templateAt(template, i);
    const from = Math.max(0, i - halfRows);
    const to = Math.min(rows - 1, i + halfRows);
    const share = 1 / (to - from + 1);
    level.fill(0);
    for (let r = from; r <= to; r++) for (let k = 0, at = r * columns; k < columns; k++, at++) level[k] += data[at];
    let outside = false;
    for (let k = 0; k < columns; k++) {
      if (Number.isNaN(level[k])) outside = true;
      level[k] = Math.sqrt(Math.max(0, share * level[k]));
    }
    let mean = 0;
    for (let k = first; k < last; k++) mean += look[k];
    mean /= last - first;
    let structure = 0;
    for (let k = first; k < last; k++) structure += (look[k] - mean) ** 2;
    let least = Number.POSITIVE_INFINITY;
    for (const shift of shifts) {
      let difference = 0;
      // Most shifts are soon seen to be worse than the middle.
      for (let k = first; k < last && difference < least; k++) {
        const d = level[k + shift] - look[k];
        difference += d * d;
      }
      if (difference < least) least = difference;
    }
    out[i] = outside ? Number.NaN : least / (structure + (last - first) * flatStructure);
  }
  return out;
}
