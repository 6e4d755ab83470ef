/**
 * Does the parts from `from` to before `to` of some work. What comes of them is put into memory that the input carries; no
 * part looks at another.
 */
export type WorkOnParts<I> = (input: I, from: number, to: number) => void;

/** Has all parts of some work done before it returns, by whichever threads there are. */
export type DoParts<I> = (input: I, count: number) => void;

/** The same work with no other thread. */
export function alone<I>(work: WorkOnParts<I>): DoParts<I> {
  return (input, count) => work(input, 0, count);
}
