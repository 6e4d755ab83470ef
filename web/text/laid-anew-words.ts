import {
  beginningOf,
  isLaidAnew,
  laidInOrder,
  onlySlides,
  pieceName,
  piecesTakenOut,
} from '../../server/contract/laid-anew.js';
import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { exactLength, formatLength } from './lengths.js';

type Stretch = PlanWithoutAlternatives['stretches'][number];

/** A stretch that a plan lays of other pieces than now. Pieces have the names of the measured plan's list. */
export interface LaidAnew {
  readonly title: string;
  /** What has to come out; empty where everything stays. */
  readonly takenOut: string;
  /** The same as things on the picture, with their names there. */
  readonly toShow: readonly { readonly thing: string; readonly name: string }[];
  /** What then lies there, in running order. */
  readonly lies: string;
  /** Which end that order begins at, as on paper: `by side A, 24 in from corner D/A`; empty where it is not known. */
  readonly begins: string;
  /** The same pieces lie there as now, pushed together. */
  readonly slides: boolean;
}

/** @returns the stretches laid anew, in the plan's order; none where fillers alone make it fit */
export function laidAnewWords(plan: PlanWithoutAlternatives, report: Report, style: LengthStyle): LaidAnew[] {
  return plan.stretches.filter(isLaidAnew).map((stretch) => ({
    title: titleOf(stretch, style),
    takenOut: inWords(takenOutNames(piecesTakenOut(stretch, report), style)),
    toShow: piecesTakenOut(stretch, report).map(({ piece, name }) => ({
      thing: `piece:${stretch.run}:${piece}`,
      name: `${name} of ${stretch.run}`,
    })),
    lies: inWords(
      laidInOrder(
        stretch,
        (id) => fillerName(id, plan, style),
        (mm) => exactLength(mm, style, plan.stepMm),
      ),
    ),
    begins: beginningOf(stretch, report, style),
    slides: onlySlides(stretch),
  }));
}

function titleOf({ run, pieces, nowMm, thenMm }: Stretch, style: LengthStyle): string {
  const place = pieces.length === 0 ? `Run ${run}` : `${inWords(pieces.map(pieceName))} of ${run}`;
  return `${place}: ${formatLength(nowMm, style)} now, ${formatLength(thenMm, style)} then`;
}

/** `Straight 3 (5 in)`, for each. */
export function takenOutNames(pieces: ReturnType<typeof piecesTakenOut>, style: LengthStyle): string[] {
  return pieces.map(({ name, lengthMm }) => (lengthMm === null ? name : `${name} (${formatLength(lengthMm, style)})`));
}

function fillerName(id: string, plan: PlanWithoutAlternatives, style: LengthStyle): string {
  const filler = plan.fillers.find((f) => f.id === id);
  return filler ? `${id} (${exactLength(filler.lengthMm, style, plan.stepMm)})` : id;
}

function inWords(names: readonly string[]): string {
  return names.join(', ');
}
