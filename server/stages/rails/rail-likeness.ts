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
}

const directionCount = 24;

/** Brightness steps across the track beyond this are one object's edge, not a rail's; coded units, two pixels apart. */
const steepest = 60;

/** Plan pixels averaged along the track on each side of the middle: with 1.3 mm a pixel, 33 mm. */
const alongHalfPx = 12;

/** Weakest mean step that can be a rail, coded units. */
const weakestStep = 0.7;

/** What server/kernels/rail-likeness.ts exports. */
interface Kernel extends KernelExports {
  prepare(...settings: readonly number[]): number;
  findSides(): void;
  scoreDirections(index: number, squareIndex: number, cos: number, sin: number): void;
  scoreAt(): number;
  directionAt(): number;
}

const kernel = loadKernel<Kernel>(wasmBase64);

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/** In the order in which the kernel's `prepare` takes them. */
function settingsOf(widthPx: number, heightPx: number, spacingPx: number, railCount: 2 | 3): number[] {
  const diagonalPx = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const halfPx = Math.max(2, Math.round(0.32 * spacingPx));
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
 * @param grey plan picture, NaN outside the photo
 * @param spacingPx rail spacing in plan pixels
 */
export function findRailLikeness(
  grey: Float32Array,
  widthPx: number,
  heightPx: number,
  spacingPx: number,
  railCount: 2 | 3,
  signal?: AbortSignal,
): RailLikeness {
  const settings = settingsOf(widthPx, heightPx, spacingPx, railCount);
  // The picture turned by a quarter is the turned picture's columns, so that directions go in pairs.
  const turns = Array.from({ length: directionCount / 2 }, (_, k) => (k * Math.PI) / directionCount);
  const shared = shareTurns(kernel.module(), settings, grey, turns);
  try {
    const run = kernel.instance();
    const greyAt = run.prepare(...settings);
    new Float32Array(run.memory.buffer, greyAt, grey.length).set(grey);
    run.findSides();
    const score = (k: number): void => {
      throwIfCancelled(signal);
      run.scoreDirections(k, k + turns.length, Math.cos(turns[k]), Math.sin(turns[k]));
    };
    for (let k = shared.next(); k !== null; k = shared.next()) score(k);
    const mine = {
      score: new Float32Array(run.memory.buffer, run.scoreAt(), grey.length),
      direction: new Uint8Array(run.memory.buffer, run.directionAt(), grey.length),
    };
    if (!shared.mergeInto(mine)) for (const k of shared.missing()) score(k);
    return { widthPx, heightPx, ...mine, directionCount };
  } finally {
    shared.end();
  }
}
