import type { LengthStyle } from '../units/format-length.js';
import type { Plan } from './plan.js';
import type { Report } from './report.js';
import { roughPlace } from './rough-place.js';

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

/** Whether nothing lies in a stretch afterwards that does not lie there now. */
export function isOfItsPieces({ order }: Stretch): boolean {
  return order?.every((part) => 'piece' in part) ?? false;
}

/** Whether the same pieces lie in a stretch as now, in less room. */
export function onlySlides(stretch: Stretch): boolean {
  return isOfItsPieces(stretch) && takenOut(stretch).length === 0;
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
  if (!stretch) return [];
  return piecesTakenOut(stretch, report).map((out) => ({
    ...out,
    name: nameAmongRuns(stretch.run, out.piece, report),
  }));
}

/** A straight that has to come out. */
export interface PieceOut {
  /** Its index in the run's pieces. */
  readonly piece: number;
  readonly name: string;
  /** Null where there is no report that knows it, as is its middle on the table, millimetres. */
  readonly lengthMm: number | null;
  readonly at: readonly [number, number] | null;
}

/** The pieces of a stretch that have to come out. */
export function piecesTakenOut(stretch: Stretch, report: Report | null): PieceOut[] {
  const run = report?.runs.find((r) => r.id === stretch.run);
  return takenOut(stretch).map((index): PieceOut => {
    const piece = run?.pieces[index];
    const name = pieceName(index);
    if (piece?.kind !== 'straight') return { piece: index, name, lengthMm: null, at: null };
    const { from, to, length } = piece;
    return {
      piece: index,
      name,
      lengthMm: length.value,
      at: [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2],
    };
  });
}

/** What a straight of a run is called in the list of what was measured: `Straight 3`. */
export const pieceName = (index: number): string => `Straight ${index + 1}`;

/** The same where several runs have straights of that name: `Straight 3 of R2`. */
export function nameAmongRuns(run: string, index: number, report: Report | null): string {
  const name = pieceName(index);
  return report !== null && report.runs.length > 1 ? `${name} of ${run}` : name;
}

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

/** Where the running order of a stretch begins: `by side A, 24 in from corner D/A`; empty where no report tells it. */
export function beginningOf({ run, pieces }: Stretch, report: Report | null, style: LengthStyle): string {
  const first = report?.runs.find((r) => r.id === run)?.pieces[pieces[0] ?? -1];
  return report !== null && first ? roughPlace(first.from, report, style) : '';
}
