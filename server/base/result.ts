/** A value, or the reason why there is none. Plain data, so it passes through JSON and between threads. */
export type Result<T, P> = Ok<T> | Failed<P>;

export interface Ok<T> {
  readonly ok: true;
  readonly value: T;
}

export interface Failed<P> {
  readonly ok: false;
  readonly problem: P;
}

export function ok<T>(value: T): Ok<T> {
  return { ok: true, value };
}

export function failed<P>(problem: P): Failed<P> {
  return { ok: false, problem };
}
