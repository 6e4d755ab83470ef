import type { WorkOnParts } from '../base/parts.js';

/** Work cut into pieces that two threads take one after the other. */
export interface Pieces {
  /** Parts of the whole. */
  readonly count: number;
  /** How many pieces have been taken, then what became of each; both threads see it. */
  readonly state: Int32Array;
}

/** More pieces than this are not worth the asking. */
const mostPieces = 16;

const open = 0;
const done = 1;
const failed = 2;

export function cutToPieces(count: number): Pieces {
  const state = new Int32Array(new SharedArrayBuffer(4 * (1 + Math.min(count, mostPieces))));
  return { count, state };
}

/** Takes pieces as long as there are any. A piece that fails is left as failed. */
export function takePieces<I>(work: WorkOnParts<I>, input: I, pieces: Pieces): void {
  const { state } = pieces;
  for (;;) {
    const piece = Atomics.add(state, 0, 1);
    if (piece >= state.length - 1) return;
    let became = failed;
    try {
      doPiece(work, input, pieces, piece);
      became = done;
    } finally {
      Atomics.store(state, 1 + piece, became);
      Atomics.notify(state, 1 + piece);
    }
  }
}

/**
 * Waits for what the other thread has taken once there is nothing left to take; what failed there is done here.
 * @returns whether the other thread is at work still: then what it has taken is not done
 */
export function waitForPieces<I>(work: WorkOnParts<I>, input: I, pieces: Pieces, patienceMs: number): boolean {
  const { state } = pieces;
  for (let piece = 0; piece < state.length - 1; piece++) {
    if (Atomics.wait(state, 1 + piece, open, patienceMs) === 'timed-out') return true;
    if (Atomics.load(state, 1 + piece) === failed) doPiece(work, input, pieces, piece);
  }
  return false;
}

function doPiece<I>(work: WorkOnParts<I>, input: I, { count, state }: Pieces, piece: number): void {
  const startOf = (k: number): number => Math.floor((k * count) / (state.length - 1));
  work(input, startOf(piece), startOf(piece + 1));
}
