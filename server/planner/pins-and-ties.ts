/** Does an end of a section carry track pins, or is it an open tube? */
export type EndKind = 'pins' | 'open';

export interface EndWork {
  readonly has: EndKind;
  readonly needs: EndKind;
  readonly work: 'none' | 'fit-pins' | 'pull-pins';
}

/**
 * Pin work at the two ends of a filler, seen along the run. A joint needs pins on one side and open tubes on the other,
 * on every rail. A filler that is the first off its donor keeps the donor's pins at one end; all its other ends are cut,
 * and so open. It may be turned end for end, which is chosen so that the least work is left.
 * @param before what the section before the filler has at that joint; null at the free end of a run
 * @param after what the section behind it has; null at the free end of a run
 */
export function pinWork(before: EndKind | null, after: EndKind | null, hasDonorPins: boolean): [EndWork, EndWork] {
  const needs: [EndKind, EndKind] = [
    before === null ? 'open' : opposite(before),
    after === null ? 'pins' : opposite(after),
  ];
  const turns: [EndKind, EndKind][] = hasDonorPins
    ? [
        ['open', 'pins'],
        ['pins', 'open'],
      ]
    : [['open', 'open']];
  const works = turns.map((has) => [endWork(has[0], needs[0]), endWork(has[1], needs[1])] as [EndWork, EndWork]);
  works.sort((a, b) => toil(a) - toil(b));
  return works[0];
}

function endWork(has: EndKind, needs: EndKind): EndWork {
  if (has === needs) return { has, needs, work: 'none' };
  return { has, needs, work: needs === 'pins' ? 'fit-pins' : 'pull-pins' };
}

function toil(ends: readonly EndWork[]): number {
  return ends.filter((e) => e.work !== 'none').length;
}

function opposite(kind: EndKind): EndKind {
  return kind === 'pins' ? 'open' : 'pins';
}

/** Ties that a filler carries: three to a full section of 10 in, never none. Common practice, no source. */
export function tiesOf(lengthMm: number): number {
  return Math.max(1, Math.min(3, Math.round(lengthMm / 85)));
}
