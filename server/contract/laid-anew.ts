import type { Plan } from './plan.js';
import type { Report } from './report.js';

type Stretch = Plan['stretches'][number];

/** A stretch that comes out longer or shorter by less is only closed up, millimetres. */
const closedUpMm = 3;

/** Whether a plan lays a straight stretch of other pieces than now, or of the same in less room. */
export function isLaidAnew(stretch: Stretch): boolean {
  const { nowMm, thenMm, made } = stretch;
  return (
    Math.abs(thenMm - nowMm) > closedUpMm ||
    made.some((part) => !('filler' in part) && part.source === 'stock') ||
    takenOut(stretch).length > 0
  );
}

/** Pieces of a stretch that have to come out, by their index in the run's pieces; none where the plan does not say. */
export function takenOut({ pieces, order }: Stretch): number[] {
  return order === undefined
    ? []
    : pieces.filter((piece) => order.every((part) => !('piece' in part) || part.piece !== piece));
}

/** The pieces of the stretch that a filler goes into which have to come out; as `piecesTakenOut`. */
export function takenOutBy(plan: Pick<Plan, 'stretches'>, fillerId: string, report: Report | null) {
  const stretch = plan.stretches.find((s) => s.made.some((part) => 'filler' in part && part.filler === fillerId));
  return stretch ? piecesTakenOut(stretch, report) : [];
}

/** The pieces of a stretch that have to come out; the length is null where there is no report that knows it. */
export function piecesTakenOut(stretch: Stretch, report: Report | null): { name: string; lengthMm: number | null }[] {
  const run = report?.runs.find((r) => r.id === stretch.run);
  return takenOut(stretch).map((index) => {
    const piece = run?.pieces[index];
    return { name: pieceName(index), lengthMm: piece?.kind === 'straight' ? piece.length.value : null };
  });
}

/** What a straight of a run is called in the list of what was measured: `Straight 3`. */
export const pieceName = (index: number): string => `Straight ${index + 1}`;

/**
 * What lies in a stretch once the plan is carried out, in running order; what it is made of where the plan has no order.
 * Page and cut sheet both say this.
 * @param fillerName what a filler is called there
 * @param write a length in the reader's unit
 */
export function laidInOrder(
  { order, made }: Stretch,
  fillerName: (id: string) => string,
  write: (lengthMm: number) => string,
): string[] {
  if (order === undefined)
    return made.map((part) => {
      if ('filler' in part) return fillerName(part.filler);
      return part.count === 1 ? write(part.lengthMm) : `${part.count} × ${write(part.lengthMm)}`;
    });
  return order.map((part) => {
    if ('piece' in part) return pieceName(part.piece);
    if ('filler' in part) return fillerName(part.filler);
    return `${write(part.lengthMm)} from ${part.source === 'stock' ? 'what is at hand' : 'another straight'}`;
  });
}
