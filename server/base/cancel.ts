/** Throws AbortError when the work was called off; long loops call it between steps. */
export function throwIfCancelled(signal: AbortSignal | undefined): void {
  if (signal?.aborted) throw new DOMException('cancelled', 'AbortError');
}
