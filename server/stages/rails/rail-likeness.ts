import { throwIfCancelled } from '../../base/cancel.js';
import { alone, type DoParts } from '../../base/parts.js';
import { loadKernel, newSharedMemory, type SharedMemory } from '../../images/load-kernel.js';
import { mayUseMemoryAgain } from '../../images/spare-memory.js';
import { type PlanSize, RailLikeness, tileCountOf, tilePixels, type WantedPlaces } from './likeness-tiles.js';
import { wasmBase64 } from './rail-likeness-kernel.js';

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
  makeRoom(...settings: readonly number[]): void;
  prepare(): number;
  findSides(): void;
  scoreTurn(turn: number, turns: number): void;
  findWanted(): void;
  scoreWantedTurn(turn: number): void;
  tilesAt(): number;
  codesAt(): number;
  wishesAt(): number;
  freeFrom(): number;
}

const kernel = loadKernel<Kernel>(wasmBase64);

/** The first bytes of the kernel's memory are its own: in them are the turns' directions. */
const turnsAt = 128;
const firstFreeByte = 4096;

/** Memory that nobody uses now: new memory costs more than what is done in it. */
let spareMemory: SharedMemory | null = null;

/** Turns of a picture that several threads may score, each with a kernel of its own in the same memory. */
export interface TurnsAsked {
  readonly memory: SharedMemory;
  /** What `makeRoom` is given by a thread that finds the picture there. */
  readonly settings: readonly number[];
  readonly turns: number;
  /** Whether only what is wanted is to be scored. */
  readonly wanted: boolean;
}

/** Kernels of this thread that are ready for what is asked. */
const ready = new WeakMap<TurnsAsked, Kernel>();

function readyFor(asked: TurnsAsked): Kernel {
  const run = kernel.instance(asked.memory);
  run.makeRoom(...asked.settings);
  run.prepare();
  if (asked.wanted) run.findWanted();
  else run.findSides();
  ready.set(asked, run);
  return run;
}

/** Scores some of the turns; what has been scored stays as it is when it is scored again. */
export function scoreTurns(asked: TurnsAsked, from: number, to: number): void {
  const run = ready.get(asked) ?? readyFor(asked);
  for (let turn = from; turn < to; turn++)
    if (asked.wanted) run.scoreWantedTurn(turn);
    else run.scoreTurn(turn, asked.turns);
}

/**
 * The kernel with its memory, for one photo. What it found lies in its memory: it is to be read before anything else is
 * looked for.
 */
export class LikenessFinder {
  private readonly memory: SharedMemory;
  private readonly run: Kernel;

  constructor(private readonly doTurns: DoParts<TurnsAsked> = alone(scoreTurns)) {
    this.memory = spareMemory ?? newSharedMemory();
    spareMemory = null;
    this.run = kernel.instance(this.memory);
  }

  /**
   * Scores a picture everywhere, or where it is wanted.
   * @param fill puts the picture into the array that it is given
   */
  score(look: Look, fill: (grey: Float32Array) => void, wanted: WantedPlaces | null): RailLikeness {
    const { run } = this;
    const { widthPx, heightPx } = look.size;
    const shape = [...shapeOf(look), wanted?.tileCount ?? 0];
    run.makeRoom(firstFreeByte, 0, ...shape);
    const greyAt = run.prepare();
    const table = new Int32Array(this.memory.buffer, run.tilesAt(), tileCountOf(look.size));
    if (wanted) {
      table.set(wanted.table);
      new Int32Array(this.memory.buffer, run.wishesAt(), wanted.bits.length).set(wanted.bits);
      run.findWanted();
    }
    fill(new Float32Array(this.memory.buffer, greyAt, widthPx * heightPx));
    if (!wanted) run.findSides();
    // The picture turned by a quarter is the turned picture's columns, so that directions go in pairs.
    const turns = wanted ? look.directionCount : look.directionCount / 2;
    const angles = Array.from({ length: turns }, (_, k) => (k * Math.PI) / look.directionCount);
    new Float64Array(this.memory.buffer, turnsAt, 2 * turns).set(angles.flatMap((a) => [Math.cos(a), Math.sin(a)]));
    const settings = [run.freeFrom(), greyAt, ...shape];
    const asked: TurnsAsked = { memory: this.memory, settings, turns, wanted: wanted !== null };
    ready.set(asked, run);
    this.doTurns(asked, turns);
    const count = (wanted?.tileCount ?? table.length) * tilePixels;
    const codes = new Uint32Array(this.memory.buffer, run.codesAt(), count);
    return new RailLikeness(look.size, table, codes, look.directionCount);
  }

  /** To be called in any case. */
  end(): void {
    if (mayUseMemoryAgain()) spareMemory = this.memory;
  }
}

/** What is looked for in a plan, and how finely. */
interface Look extends LikenessOptions {
  readonly size: PlanSize;
  readonly spacingPx: number;
  readonly railCount: 2 | 3;
}

/** Half the width of what is compared, plan pixels. */
function halfProfilePx(spacingPx: number): number {
  return Math.max(2, Math.round(0.32 * spacingPx));
}

/** In the order in which the kernel's `makeRoom` takes them. */
function shapeOf({ size: { widthPx, heightPx }, spacingPx, railCount, alongHalfPx }: Look): number[] {
  const diagonalPx = Math.ceil(Math.hypot(widthPx, heightPx)) + 2;
  const halfPx = halfProfilePx(spacingPx);
  const leastEnergy = weakestStep * (2 * halfPx + 1) * 0.6;
  return [widthPx, heightPx, diagonalPx, halfPx, spacingPx, railCount, alongHalfPx, leastEnergy, steepest];
}

/**
 * Looks for equal cross-sections one rail spacing apart, in every direction. Rails show a bright crest, dark flanks and
 * a flange whose brightness depends on the light, but all rails of one track show the same; so the across-track
 * derivative, averaged along the track, is compared with itself one spacing to the left and to the right. Nothing is
 * assumed about bright or dark. About 15 ns a pixel and direction, on
 * two threads where there are two processors.
 * @param size of the plan picture
 * @param spacingPx rail spacing in plan pixels
 * @param fill puts the picture into the array that it is given: brightness row by row, NaN outside the photo
 */
export function findRailLikeness(
  finder: LikenessFinder,
  size: PlanSize,
  spacingPx: number,
  railCount: 2 | 3,
  fill: (grey: Float32Array) => void,
  options: LikenessOptions = defaultLikenessOptions,
  signal?: AbortSignal,
): RailLikeness {
  throwIfCancelled(signal);
  return finder.score({ size, spacingPx, railCount, ...options }, fill, null);
}

/**
 * The same where it is wanted; elsewhere the score is zero.
 * @param fill puts the picture into the array that it is given, at least as far from wanted pixels as `reachOfWanted` says
 */
export function findLikenessWhere(
  finder: LikenessFinder,
  wanted: WantedPlaces,
  spacingPx: number,
  railCount: 2 | 3,
  fill: (grey: Float32Array) => void,
  signal?: AbortSignal,
): RailLikeness {
  throwIfCancelled(signal);
  return finder.score({ size: wanted.size, spacingPx, railCount, ...defaultLikenessOptions }, fill, wanted);
}

/** How far from a wanted pixel the picture has a say, plan pixels. */
export function reachOfWanted(spacingPx: number): number {
  const across = 1.03 * spacingPx + halfProfilePx(spacingPx) + 3;
  return Math.ceil(Math.hypot(across, defaultLikenessOptions.alongHalfPx + 1)) + 1;
}
