/**
 * Large memory that is used again and again. What the system hands out anew costs about as much as what is done in it: it
 * comes page by page, each when it is first written to.
 *
 * Each thread keeps its own. What is given back must not be looked at any more, by no thread.
 */
const spare: SharedArrayBuffer[] = [];

/** So much is kept at most, what was given back last: all that a photo of 12 megapixels takes, or the picture of one of 48. */
const mostSpareBytes = 160 * 2 ** 20;

let isReused = true;

/** Memory that several threads see; what it holds is anything. Of spare memory that fits less than half is wasted. */
export function sharedBytes(count: number): Uint8Array {
  return new Uint8Array(take(count), 0, count);
}

/** The same for single-precision numbers. */
export function sharedFloats(count: number): Float32Array {
  return new Float32Array(take(4 * count), 0, count);
}

/** The same for double-precision numbers. */
export function sharedDoubles(count: number): Float64Array {
  return new Float64Array(take(8 * count), 0, count);
}

/** Keeps memory for whoever asks next; ordinary memory is left to the garbage collector. */
export function giveBack({ buffer }: ArrayBufferView): void {
  if (!isReused || !(buffer instanceof SharedArrayBuffer) || spare.includes(buffer)) return;
  spare.push(buffer);
  const total = (): number => spare.reduce((sum, { byteLength }) => sum + byteLength, 0);
  while (total() > mostSpareBytes) spare.shift();
}

/** From now on no memory is used again: another thread that was lost may still write to any of it. */
export function useNoMemoryAgain(): void {
  isReused = false;
  spare.length = 0;
}

/** Whether memory may be used again. */
export function mayUseMemoryAgain(): boolean {
  return isReused;
}

function take(bytes: number): SharedArrayBuffer {
  let best = -1;
  for (let i = 0; i < spare.length; i++) {
    const { byteLength } = spare[i];
    if (byteLength < bytes || byteLength >= 2 * bytes) continue;
    if (best < 0 || byteLength < spare[best].byteLength) best = i;
  }
  return best < 0 ? new SharedArrayBuffer(bytes) : spare.splice(best, 1)[0];
}
