/** Throws when the program itself is wrong. What a user or a photo can cause is a Problem instead. */
export function assert(condition: boolean, message: string, value?: unknown): asserts condition {
  if (!condition) throw new Error(value === undefined ? message : `${message} (got ${String(value)})`);
}

/** Makes the compiler prove that a switch names every case. */
export function assertNever(value: never): never {
  throw new Error(`unexpected case: ${JSON.stringify(value)}`);
}
