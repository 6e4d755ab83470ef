import type { Raster } from '../../images/raster.js';

/** A small part of a photo: grey values 0…255, row by row. */
export interface GreyPatch {
  readonly width: number;
  readonly height: number;
  readonly values: Uint8Array | Uint8ClampedArray;
}

/** What can be told of a photo at first sight, before it is measured. */
export interface FirstLook {
  /** Width of the sharpest edges from 10 to 90 % of their height, pixels, in the worse of both directions; null without any edge. */
  readonly edgeWidthPx: number | null;
  /** Share of pixels that are as white as white can be. */
  readonly whiteRatio: number;
  /** Mean grey value, 0…255. */
  readonly meanGrey: number;
}

export type LightRemark = 'blurred' | 'glare' | 'dark';

/** An edge counts when it rises by this much within two pixels or less of a sharp picture: above noise and grain. */
const leastStep = 40;
/** Fewer edges than this say nothing. */
const leastEdges = 12;
/** Of all edges the sharpest are looked at: soft shadows are no fault of the photo. */
const sharpShare = 0.2;
/** Wider edges cost accuracy at rail ends. A Gaussian of σ px is 2.56 σ wide; phones give 2 to 4. Practice, no source. */
const widestSharpPx = 6;
const mostWhiteRatio = 0.2;
const leastMeanGrey = 35;

const patchPx = 256;
const patchesAcross = 5;
const patchesDown = 4;

/** Patches spread over a photo; green carries most of the brightness, and is what the markers are read in. */
export function patchesOf({ widthPx, heightPx, channels, data }: Raster): GreyPatch[] {
  const [width, height] = [Math.min(patchPx, widthPx), Math.min(patchPx, heightPx)];
  const green = channels === 3 ? 1 : 0;
  return Array.from({ length: patchesAcross * patchesDown }, (_, i) => {
    const x0 = Math.round(((widthPx - width) * (i % patchesAcross)) / (patchesAcross - 1));
    const y0 = Math.round(((heightPx - height) * Math.floor(i / patchesAcross)) / (patchesDown - 1));
    const values = new Uint8Array(width * height);
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) values[y * width + x] = data[((y0 + y) * widthPx + x0 + x) * channels + green];
    return { width, height, values };
  });
}

/** Looks at some patches of one photo, all at the photo's own resolution. */
export function firstLook(patches: readonly GreyPatch[]): FirstLook {
  const across = edgeWidth(patches, false);
  const down = edgeWidth(patches, true);
  const widths = [across, down].filter((w): w is number => w !== null);
  let white = 0;
  let sum = 0;
  let count = 0;
  for (const { values } of patches) {
    for (const value of values) {
      if (value >= 254) white++;
      sum += value;
    }
    count += values.length;
  }
  return {
    edgeWidthPx: widths.length > 0 ? Math.max(...widths) : null,
    whiteRatio: white / count,
    meanGrey: sum / count,
  };
}

/** What is to be said of sharpness and light. */
export function remarksOn(look: FirstLook): LightRemark[] {
  const remarks: LightRemark[] = [];
  if (look.edgeWidthPx !== null && look.edgeWidthPx > widestSharpPx) remarks.push('blurred');
  if (look.whiteRatio > mostWhiteRatio) remarks.push('glare');
  if (look.meanGrey < leastMeanGrey) remarks.push('dark');
  return remarks;
}

/** Width of the sharpest edges in one direction over all patches; null when there are too few. */
function edgeWidth(patches: readonly GreyPatch[], down: boolean): number | null {
  const widths: number[] = [];
  for (const patch of patches) {
    const lines = down ? patch.width : patch.height;
    for (let line = 0; line < lines; line++) collectWidths(lineOf(patch, line, down), widths);
  }
  if (widths.length < leastEdges) return null;
  widths.sort((a, b) => a - b);
  return widths[Math.floor(widths.length * sharpShare)];
}

function lineOf({ width, height, values }: GreyPatch, line: number, down: boolean): Uint8Array | Uint8ClampedArray {
  if (!down) return values.subarray(line * width, (line + 1) * width);
  return Uint8Array.from({ length: height }, (_, y) => values[y * width + line]);
}

/** Every monotonous rise or fall along a line that is high enough is an edge. */
function collectWidths(line: Uint8Array | Uint8ClampedArray, widths: number[]): void {
  let start = 0;
  for (let i = 1; i <= line.length; i++) {
    const direction = i < line.length ? Math.sign(line[i] - line[i - 1]) : 0;
    const before = Math.sign(line[i - 1] - line[start]);
    if (i < line.length && (before === 0 || direction === before)) {
      if (before === 0) start = i - 1;
      continue;
    }
    const step = Math.abs(line[i - 1] - line[start]);
    if (step >= leastStep) widths.push(crossing(line, start, i - 1, 0.9) - crossing(line, start, i - 1, 0.1));
    start = i - 1;
  }
}

/** Where the monotonous part from `start` to `end` crosses a share of its height, by linear interpolation. */
function crossing(line: Uint8Array | Uint8ClampedArray, start: number, end: number, share: number): number {
  const target = line[start] + (line[end] - line[start]) * share;
  const rising = line[end] > line[start];
  for (let i = start + 1; i <= end; i++) {
    if (rising ? line[i] >= target : line[i] <= target) {
      const rise = line[i] - line[i - 1];
      return i - 1 + (rise === 0 ? 0 : (target - line[i - 1]) / rise);
    }
  }
  return end;
}
