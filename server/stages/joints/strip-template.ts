import type { RailStrip } from './rail-strips.js';

/** How a rail looks across, slowly changing along the run: for each row of the strip a profile in root brightness. */
export interface StripTemplate {
  readonly columns: number;
  readonly blockRows: number;
  readonly blocks: readonly Float32Array[];
  /** Looks that a rail may have near each block: sections differ in rust, and the light changes along the run. */
  readonly looks: readonly (readonly Float32Array[])[];
}

/** Medians over blocks of the strip, then over neighbouring blocks, so that gaps and objects on the rail drop out. */
export function makeTemplate(strip: RailStrip, blockMm: number): StripTemplate {
  const { rows, columns, data } = strip;
  const blockRows = Math.max(4, Math.round(blockMm / strip.stepMm));
  const count = Math.max(1, Math.round(rows / blockRows));
  const own: Float32Array[] = [];
  for (let b = 0; b < count; b++) {
    const from = Math.floor((b * rows) / count);
    const to = Math.floor(((b + 1) * rows) / count);
    const profile = new Float32Array(columns);
    for (let k = 0; k < columns; k++) {
      const values: number[] = [];
      for (let i = from; i < to; i++) {
        const v = data[i * columns + k];
        if (!Number.isNaN(v)) values.push(Math.sqrt(v));
      }
      profile[k] = medianOf(values);
    }
    own.push(profile);
  }
  const blocks = own.map((_, b) => {
    const near = [-2, -1, 0, 1, 2].map((d) => own[b + d]).filter((p) => p !== undefined);
    return Float32Array.from({ length: columns }, (_, k) => medianOf(near.map((p) => p[k])));
  });
  const usual = Float32Array.from({ length: columns }, (_, k) => medianOf(own.map((p) => p[k])));
  const looks = own.map((_, b) => {
    const near = [-2, -1, 0, 1, 2].map((d) => own[b + d]).filter((p) => p !== undefined);
    return [blocks[b], ...near.filter((p) => differenceOf(p, usual) < strangest)];
  });
  return { columns, blockRows: rows / count, blocks, looks };
}

/** A block less like the whole run's usual look than this is not taken for rail: it may lie in a gap or be covered. */
const strangest = 0.35;

/** Squared difference of a profile to a rail's look, over the structure of that look. */
function differenceOf(profile: Float32Array, look: Float32Array): number {
  const n = look.length;
  let mean = 0;
  for (let k = 0; k < n; k++) mean += look[k] / n;
  let structure = 0;
  let difference = 0;
  for (let k = 0; k < n; k++) {
    structure += (look[k] - mean) ** 2;
    difference += (profile[k] - look[k]) ** 2;
  }
  return difference / (structure + n * 2e-4);
}

export function templateAt(template: StripTemplate, row: number): Float32Array {
  const b = Math.floor(row / template.blockRows);
  return template.blocks[Math.max(0, Math.min(template.blocks.length - 1, b))];
}

export function medianOf(values: readonly number[]): number {
  const sorted = values.filter((v) => !Number.isNaN(v)).sort((a, b) => a - b);
  return sorted.length === 0 ? Number.NaN : sorted[sorted.length >> 1];
}

/**
 * How unlike the rail each row is: squared difference to the template over the template's own structure; 0 for the rail
 * itself, about 1 and more where there is none. Rows outside the photo give NaN.
 * @param halfRows rows on each side that are averaged with it
 */
export function unlikeness(strip: RailStrip, template: StripTemplate, halfRows: number): Float32Array {
  const { rows, columns, data } = strip;
  const out = new Float32Array(rows);
  const profile = new Float32Array(columns);
  for (let i = 0; i < rows; i++) {
    const from = Math.max(0, i - halfRows);
    const to = Math.min(rows - 1, i + halfRows);
    for (let k = 0; k < columns; k++) {
      let sum = 0;
      for (let r = from; r <= to; r++) sum += data[r * columns + k];
      profile[k] = Math.sqrt(sum / (to - from + 1));
    }
    const b = Math.max(0, Math.min(template.looks.length - 1, Math.floor(i / template.blockRows)));
    out[i] = Math.min(...template.looks[b].map((look) => differenceOf(profile, look)));
  }
  return out;
}
