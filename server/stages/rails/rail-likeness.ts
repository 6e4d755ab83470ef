import { throwIfCancelled } from '../../base/cancel.js';
import { type KernelExports, loadKernel } from '../../images/load-kernel.js';
import { wasmBase64 } from './rail-likeness-kernel.js';

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

/** What kernels/rail-likeness.ts exports. */
interface Kernel extends KernelExports {
  prepare(
    firstByte: number,
    widthPx: number,
    heightPx: number,
    diagonalPx: number,
    halfPx: number,
    spacingPx: number,
    railCount: number,
    alongHalfPx: number,
    leastEnergy: number,
    steepest: number,
  ): number;
  findSides(): void;
  scoreDirections(index: number, squareIndex: number, cos: number, sin: number): void;
  scoreAt(): number;
  directionAt(): number;
}

const newKernel = loadKernel<Kernel>(wasmBase64);

/** The first bytes of the kernel's memory are its own. */
const firstFreeByte = 4096;

/**
 * Looks for equal cross-sections one rail spacing apart, in every direction. Rails show a bright crest, dark flanks and
 * a flange whose brightness depends on the light, but all rails of one track show the same; so the across-track
 * derivative, averaged along the track, is compared with itself one spacing to the left and to the right. Nothing is
 * assumed about bright or dark. About 30 ns a pixel and direction.
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
  const run = newKernel();
  const diagonalPx = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const halfPx = Math.max(2, Math.round(0.32 * spacingPx));
  const leastEnergy = weakestStep * (2 * halfPx + 1) * 0.6;
  const greyAt = run.prepare(
    firstFreeByte,
    widthPx,
    heightPx,
    diagonalPx,
    halfPx,
    spacingPx,
    railCount,
    alongHalfPx,
    leastEnergy,
    steepest,
  );
  new Float32Array(run.memory.buffer, greyAt, grey.length).set(grey);
  run.findSides();
  // The picture turned by a quarter is the turned picture's columns.
  const square = directionCount / 2;
  for (let k = 0; k < square; k++) {
    throwIfCancelled(signal);
    const angle = (k * Math.PI) / directionCount;
    run.scoreDirections(k, k + square, Math.cos(angle), Math.sin(angle));
  }
  return {
    widthPx,
    heightPx,
    score: new Float32Array(run.memory.buffer, run.scoreAt(), grey.length),
    direction: new Uint8Array(run.memory.buffer, run.directionAt(), grey.length),
    directionCount,
  };
}
