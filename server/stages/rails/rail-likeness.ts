import { throwIfCancelled } from '../../base/cancel.js';
import { type KernelExports, loadKernel } from '../../images/load-kernel.js';
import { wasmBase64 } from './rail-likeness-kernel.js';
import { shareTurns } from './share-turns.js';

/** How rail-like each plan pixel is, and which way the rails run there. */
export interface RailLikeness {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Zero where no three (or two) parallel rails are centred. */
  readonly score: Float32Array;
  /** Direction index of the best score; direction = index · π / directionCount, from +column towards −row. */
  readonly direction: Uint8Array;
  readonly directionCount: number;
  /** Pixels with a score, in rising order. */
  readonly found: Int32Array;
}

/** How finely is looked. */
export interface LikenessOptions {
  /** Even. */
  readonly directionCount: number;
  /** Plan pixels averaged along the track on each side of the middle. */
  readonly alongHalfPx: number;
}

/** With 1.3 mm a pixel 33 mm along the track are averaged. */
export const defaultLikenessOptions: LikenessOptions = { directionCount: 24, alongHalfPx: 12 };

/** Brightness steps across the track beyond this are one object's edge, not a rail's; coded units, two pixels apart. */
const steepest = 60;

/** Weakest mean step that can be a rail, coded units. */
const weakestStep = 0.7;

/** What server/kernels/rail-likeness.ts exports. */
interface Kernel extends KernelExports {
  prepare(...settings: readonly number[]): number;
  findSides(): void;
  scoreDirections(index: number, squareIndex: number, cos: number, sin: number): void;
  scoreAt(): number;
  directionAt(): number;
  prepareWanted(): number;
  findWanted(): void;
  scoreWanted(index: number, cos: number, sin: number): void;
}

const kernel = loadKernel<Kernel>(wasmBase64);

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/** Half the width of what is compared, plan pixels. */
function halfProfilePx(spacingPx: number): number {
  return Math.max(2, Math.round(0.32 * spacingPx));
}

export interface PlanSize {
  readonly widthPx: number;
  readonly heightPx: number;
}

/** A plan picture, NaN outside the photo. */
export interface PlanPicture extends PlanSize {
  readonly grey: Float32Array;
}

/** In the order in which the kernel's `prepare` takes them. */
function settingsOf(
  { widthPx, heightPx }: PlanSize,
  spacingPx: number,
  railCount: 2 | 3,
  alongHalfPx: number,
): number[] {
  const diagonalPx = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const halfPx = halfProfilePx(spacingPx);
  const leastEnergy = weakestStep * (2 * halfPx + 1) * 0.6;
  const shape = [firstFreeByte, widthPx, heightPx, diagonalPx, halfPx, spacingPx, railCount];
  return [...shape, alongHalfPx, leastEnergy, steepest];
}

/**
 * Looks for equal cross-sections one rail spacing apart, in every direction. Rails show a bright crest, dark flanks and
 * a flange whose brightness depends on the light, but all rails of one track show the same; so the across-track
 * derivative, averaged along the track, is compared with itself one spacing to the left and to the right. Nothing is
 * assumed about bright or dark. About 25 ns a pixel and direction, on
 * two threads where there are two processors.
 * @param spacingPx rail spacing in plan pixels
 */
export function findRailLikeness(
  plan: PlanPicture,
  spacingPx: number,
  railCount: 2 | 3,
  { directionCount, alongHalfPx }: LikenessOptions = defaultLikenessOptions,
  signal?: AbortSignal,
): RailLikeness {
  const { grey, widthPx, heightPx } = plan;
  const settings = settingsOf(plan, spacingPx, railCount, alongHalfPx);
  // The picture turned by a quarter is the turned picture's columns, so that directions go in pairs.
  const turns = Array.from({ length: directionCount / 2 }, (_, k) => (k * Math.PI) / directionCount);
  const shared = shareTurns(kernel.module(), settings, grey, turns);
  try {
    const run = kernel.instance();
    const at = run.prepare(...settings);
    new Float32Array(run.memory.buffer, at, grey.length).set(grey);
    run.findSides();
    const score = (k: number): void => {
      throwIfCancelled(signal);
      run.scoreDirections(k, k + turns.length, Math.cos(turns[k]), Math.sin(turns[k]));
    };
    for (let k = shared.next(); k !== null; k = shared.next()) score(k);
    const mine = scoredBy(run, plan);
    if (!shared.mergeInto(mine)) for (const k of shared.missing()) score(k);
    return { widthPx, heightPx, ...mine, directionCount, found: foundAnywhere(mine.score) };
  } finally {
    shared.end();
  }
}

/**
 * The same where it is wanted; elsewhere the score is zero.
 * @param size of the plan picture
 * @param wanted for pixel (2·i, 2·j) and those next to it a bit for each direction, row by row, `wantedSize` of them
 * @param fill puts the picture into the array that it is given, at least as far from wanted pixels as `reachOfWanted` says
 */
export function findLikenessWhere(
  wanted: Int32Array,
  size: PlanSize,
  spacingPx: number,
  railCount: 2 | 3,
  fill: (grey: Float32Array) => void,
  signal?: AbortSignal,
): RailLikeness {
  const { widthPx, heightPx } = size;
  const { directionCount, alongHalfPx } = defaultLikenessOptions;
  const run = kernel.instance();
  const greyAt = run.prepare(...settingsOf(size, spacingPx, railCount, alongHalfPx));
  const wantedAt = run.prepareWanted();
  new Int32Array(run.memory.buffer, wantedAt, wanted.length).set(wanted);
  run.findWanted();
  fill(new Float32Array(run.memory.buffer, greyAt, widthPx * heightPx));
  for (let k = 0; k < directionCount; k++) {
    throwIfCancelled(signal);
    const angle = (k * Math.PI) / directionCount;
    run.scoreWanted(k, Math.cos(angle), Math.sin(angle));
  }
  const scored = scoredBy(run, size);
  return { widthPx, heightPx, ...scored, directionCount, found: foundWhere(wanted, size, scored.score) };
}

/** Columns and rows of places at which directions may be wanted. */
export function wantedSize({ widthPx, heightPx }: PlanSize): [number, number] {
  return [(widthPx + 2) >> 1, (heightPx + 2) >> 1];
}

/** How far from a wanted pixel the picture has a say, plan pixels. */
export function reachOfWanted(spacingPx: number): number {
  const across = 1.03 * spacingPx + halfProfilePx(spacingPx) + 3;
  return Math.ceil(Math.hypot(across, defaultLikenessOptions.alongHalfPx + 1)) + 1;
}

function scoredBy(run: Kernel, { widthPx, heightPx }: PlanSize): Pick<RailLikeness, 'score' | 'direction'> {
  const { buffer } = run.memory;
  return {
    score: new Float32Array(buffer, run.scoreAt(), widthPx * heightPx),
    direction: new Uint8Array(buffer, run.directionAt(), widthPx * heightPx),
  };
}

/** The pixels with a score among those that were wanted. */
function foundWhere(wanted: Int32Array, { widthPx, heightPx }: PlanSize, score: Float32Array): Int32Array {
  const [columns] = wantedSize({ widthPx, heightPx });
  const found: number[] = [];
  for (let y = 0; y < heightPx; y++) {
    const row = ((y + 1) >> 1) * columns;
    for (let i = 0; i < columns; i++) {
      if (wanted[row + i] === 0) continue;
      for (let x = Math.max(0, 2 * i - 1); x <= Math.min(widthPx - 1, 2 * i); x++)
        if (score[y * widthPx + x] > 0) found.push(y * widthPx + x);
    }
  }
  return Int32Array.from(found);
}

function foundAnywhere(score: Float32Array): Int32Array {
  const found: number[] = [];
  for (let at = 0; at < score.length; at++) if (score[at] > 0) found.push(at);
  return Int32Array.from(found);
}
