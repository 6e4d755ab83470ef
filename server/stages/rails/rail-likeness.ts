import { throwIfCancelled } from '../../base/cancel.js';
import { loadKernel, newSharedMemory } from '../../images/load-kernel.js';
import { wasmBase64 } from './rail-likeness-kernel.js';
import { SecondThread } from './second-thread.js';

/** How rail-like each plan pixel is, and which way the rails run there. */
export interface RailLikeness {
  readonly widthPx: number;
  readonly heightPx: number;
  /** Zero where no three (or two) parallel rails are centred. */
  readonly score: Float32Array;
  /** Direction index of the best score; direction = index · π / directionCount, from +column towards −row. */
  readonly direction: Uint8Array;
  readonly directionCount: number;
  /** Pixels with a score. */
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
interface Kernel {
  prepare(...settings: readonly number[]): number;
  findSides(): void;
  scoreTurns(turns: number): number;
  takeBetter(score: number, direction: number): void;
  scoreAt(): number;
  directionAt(): number;
  prepareWanted(wantedAt: number): number;
  findWanted(): void;
  scoreWantedTurns(turns: number): number;
  takeBetterWanted(score: number, direction: number): void;
  placesAt(): number;
  countOfPlaces(): number;
  freeFrom(): number;
}

const kernel = loadKernel<Kernel>(wasmBase64);

/** The first bytes of the kernel's memory are its own: the number of each task's next turn, and the turns' directions. */
const nextTurnsAt = 64;
const turnsAt = 128;
const firstFreeByte = 4096;

/** The kernel with its memory and a second thread, for one photo. */
export class LikenessFinder {
  private readonly memory = newSharedMemory();
  private readonly run = kernel.instance(this.memory);
  private readonly second = new SecondThread(kernel.module(), this.memory);
  private freeByte = firstFreeByte;
  private task = 0;

  /** Makes room for a picture. */
  prepare(shape: readonly number[]): { readonly kernel: Kernel; readonly greyAt: number } {
    this.task++;
    return { kernel: this.run, greyAt: this.run.prepare(this.freeByte, this.task, 0, ...shape) };
  }

  get buffer(): SharedArrayBuffer {
    return this.memory.buffer;
  }

  /** Scores all turns, with the second thread. */
  score(shape: readonly number[], greyAt: number, wantedAt: number, angles: readonly number[]): void {
    const turns = angles.length;
    new Float64Array(this.buffer, turnsAt, 2 * turns).set(angles.flatMap((a) => [Math.cos(a), Math.sin(a)]));
    // The second thread needs no more room than this one does.
    const theirs = this.run.freeFrom();
    const settings = [theirs, this.task, greyAt, ...shape];
    this.freeByte = 2 * theirs - this.freeByte;
    this.second.ask({ task: this.task, turns, wantedAt, settings });
    const own = wantedAt === 0 ? this.run.scoreTurns(turns) : this.run.scoreWantedTurns(turns);
    if (own === turns) return;
    const scores = this.second.scoresOf(this.task);
    if (scores === null) {
      this.scoreAlone(wantedAt, turns);
    } else if (wantedAt === 0) {
      this.run.takeBetter(scores.scoreAt, scores.directionAt);
    } else {
      this.run.takeBetterWanted(scores.scoreAt, scores.directionAt);
    }
  }

  end(): void {
    this.second.end();
  }

  /** What a turn has scored stays as it is when it is done again. */
  private scoreAlone(wantedAt: number, turns: number): void {
    Atomics.store(new Int32Array(this.buffer, nextTurnsAt), this.task, 0);
    if (wantedAt === 0) this.run.scoreTurns(turns);
    else this.run.scoreWantedTurns(turns);
  }
}

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
function shapeOf({ widthPx, heightPx }: PlanSize, spacingPx: number, railCount: 2 | 3, alongHalfPx: number): number[] {
  const diagonalPx = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const halfPx = halfProfilePx(spacingPx);
  const leastEnergy = weakestStep * (2 * halfPx + 1) * 0.6;
  return [widthPx, heightPx, diagonalPx, halfPx, spacingPx, railCount, alongHalfPx, leastEnergy, steepest];
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
  finder: LikenessFinder,
  plan: PlanPicture,
  spacingPx: number,
  railCount: 2 | 3,
  { directionCount, alongHalfPx }: LikenessOptions = defaultLikenessOptions,
  signal?: AbortSignal,
): RailLikeness {
  throwIfCancelled(signal);
  const shape = shapeOf(plan, spacingPx, railCount, alongHalfPx);
  const { kernel: run, greyAt } = finder.prepare(shape);
  new Float32Array(finder.buffer, greyAt, plan.grey.length).set(plan.grey);
  run.findSides();
  // The picture turned by a quarter is the turned picture's columns, so that directions go in pairs.
  finder.score(shape, greyAt, 0, anglesOf(directionCount).slice(0, directionCount / 2));
  const scored = scoredBy(finder, run, plan);
  return { ...scored, directionCount, found: foundAnywhere(scored.score) };
}

function anglesOf(directionCount: number): number[] {
  return Array.from({ length: directionCount }, (_, k) => (k * Math.PI) / directionCount);
}

/**
 * The same where it is wanted; elsewhere the score is zero.
 * @param size of the plan picture
 * @param wanted for pixel (2·i, 2·j) and those next to it a bit for each direction, row by row, `wantedSize` of them
 * @param fill puts the picture into the array that it is given, at least as far from wanted pixels as `reachOfWanted` says
 */
export function findLikenessWhere(
  finder: LikenessFinder,
  wanted: Int32Array,
  size: PlanSize,
  spacingPx: number,
  railCount: 2 | 3,
  fill: (grey: Float32Array) => void,
  signal?: AbortSignal,
): RailLikeness {
  throwIfCancelled(signal);
  const { widthPx, heightPx } = size;
  const { directionCount, alongHalfPx } = defaultLikenessOptions;
  const shape = shapeOf(size, spacingPx, railCount, alongHalfPx);
  const { kernel: run, greyAt } = finder.prepare(shape);
  const wantedAt = run.prepareWanted(0);
  new Int32Array(finder.buffer, wantedAt, wanted.length).set(wanted);
  run.findWanted();
  fill(new Float32Array(finder.buffer, greyAt, widthPx * heightPx));
  finder.score(shape, greyAt, wantedAt, anglesOf(directionCount));
  const scored = scoredBy(finder, run, size);
  const places = new Int32Array(finder.buffer, run.placesAt(), 3 * run.countOfPlaces());
  return { ...scored, directionCount, found: foundWhere(places, size, scored.score) };
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

function scoredBy(
  { buffer }: LikenessFinder,
  run: Kernel,
  { widthPx, heightPx }: PlanSize,
): Omit<RailLikeness, 'directionCount' | 'found'> {
  const pixels = widthPx * heightPx;
  return {
    widthPx,
    heightPx,
    score: new Float32Array(buffer, run.scoreAt(), pixels),
    direction: new Uint8Array(buffer, run.directionAt(), pixels),
  };
}

/** The pixels with a score among those that were wanted: up to four for each place. */
function foundWhere(places: Int32Array, { widthPx, heightPx }: PlanSize, score: Float32Array): Int32Array {
  const found = new Int32Array((4 * places.length) / 3);
  let count = 0;
  for (let k = 0; k < places.length; k += 3) {
    const x = 2 * places[k];
    const y = 2 * places[k + 1];
    for (let py = Math.max(0, y - 1); py <= Math.min(heightPx - 1, y); py++)
      for (let px = Math.max(0, x - 1); px <= Math.min(widthPx - 1, x); px++)
        if (score[py * widthPx + px] > 0) found[count++] = py * widthPx + px;
  }
  return found.slice(0, count);
}

function foundAnywhere(score: Float32Array): Int32Array {
  let count = 0;
  for (let at = 0; at < score.length; at++) if (score[at] > 0) count++;
  const found = new Int32Array(count);
  for (let at = 0, to = 0; to < count; at++) if (score[at] > 0) found[to++] = at;
  return found;
}
