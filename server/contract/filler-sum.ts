import type { Estimate } from '../units/estimate.js';
import { formatEstimate, formatLength, type LengthStyle } from '../units/format-length.js';
import { gapToldBy, reportByRule, type ToldBy } from './gap-readings.js';
import { styleToldBy, toldWords } from './gap-words.js';
import { jointName } from './joint-names.js';
import { nameAmongRuns, takenOut } from './laid-anew.js';
import type { PlanWithoutAlternatives } from './plan.js';
import type { Report, ReportJoint } from './report.js';

type Stretch = PlanWithoutAlternatives['stretches'][number];
type Filler = PlanWithoutAlternatives['fillers'][number];

/** One open gap that a filler closes, or one straight whose place it takes. */
export interface SumPart {
  /** `Gap 2`, or `Straight 3 taken out`. */
  readonly name: string;
  /** The joint of a gap; null for a straight. */
  readonly joint: string | null;
  readonly length: Estimate;
  /** Who tells how long it is. */
  readonly toldBy: ToldBy;
}

/** What of a plan tells what a filler takes the place of. */
export type SummedPlan = Pick<PlanWithoutAlternatives, 'stretches' | 'byRule'>;

/** What a filler takes the place of. */
export interface FillerSum {
  /** In running order; empty where plan and report do not say. */
  readonly parts: readonly SumPart[];
  /** All of it together; null where the filler fills only a share of it, or the parts do not tell. */
  readonly total: Estimate | null;
}

/** Parts and the planner's own sum are alike, or something else is in it that has no name, millimetres. */
const sameMm = 0.5;

/**
 * Which gaps a filler closes and which straights it takes the place of: all of its stretch where it is the only new
 * piece there, else those that lie between the sections beside it. What does not add up to the planner's own sum is not
 * said: then the one gap alone is named, as it was measured.
 */
export function fillerSum(plan: SummedPlan, filler: Filler, photographed: Report): FillerSum {
  const report = reportByRule(photographed, plan.byRule ?? []);
  const told = (parts: readonly SumPart[]) =>
    parts.map((part) => ({ ...part, toldBy: gapToldBy(plan.byRule?.find((ruled) => ruled.joint === part.joint)) }));
  const total = filler.gap ?? null;
  const isSum = (parts: readonly SumPart[]): boolean =>
    parts.length > 0 && (total === null || Math.abs(sumOf(parts) - total.value) <= sameMm);
  const stretch = plan.stretches.find((s) => s.made.some((part) => 'filler' in part && part.filler === filler.id));
  const parts = stretch ? waysToSum(stretch, filler.id, report).find(isSum) : undefined;
  if (parts) return { parts: told(parts), total };
  const joint = report.joints.find((j) => j.id === filler.joint);
  if (!joint) return { parts: [], total };
  const alone = [gapPart(joint, report)];
  return { parts: told(alone), total: isSum(alone) ? total : null };
}

/**
 * Who tells how long the gaps are that a filler closes, where only the plan is at hand too: both also of a sum in which
 * some parts are told by the one and some by the other; null where no gap is known.
 */
export function toldBy(plan: SummedPlan, { joint, gap }: Filler, { parts }: FillerSum): ToldBy | null {
  if (parts.length > 0) {
    const [first, ...others] = new Set(parts.map((part) => part.toldBy));
    return others.length === 0 ? first : 'photo and rule';
  }
  if (!gap) return null;
  const isGap = ({ length }: { length: Estimate }) => Math.abs(length.value - gap.value) <= sameMm;
  return gapToldBy(plan.byRule?.find((ruled) => ruled.joint === joint && isGap(ruled)));
}

/** `Gap 2 + Gap 3`; empty where nothing is known by name. */
export function sumNames({ parts }: FillerSum): string {
  return parts.map((part) => part.name).join(' + ');
}

/** `55.5 mm + 23.8 mm by the rule = 79.3 ± 0.7 mm`: each part as it counts; a single one with its ±. */
export function sumInWords({ parts, total }: FillerSum, style: LengthStyle): string {
  if (parts.length < 2) {
    const one = total ?? parts[0]?.length;
    return one ? formatEstimate(one, styleToldBy(parts[0]?.toldBy ?? 'photo', one.value, style)) : '';
  }
  const terms = parts.map((part) => partInWords(part, style)).join(' + ');
  return total === null ? terms : `${terms} = ${formatEstimate(total, style)}`;
}

/** `23.8 mm by the rule`: in fractions as fine as a rule is read, where one was laid. */
export function partInWords({ length, toldBy }: SumPart, style: LengthStyle): string {
  return `${formatLength(length.value, styleToldBy(toldBy, length.value, style))} ${toldWords[toldBy]}`.trimEnd();
}

function sumOf(parts: readonly SumPart[]): number {
  return parts.reduce((sum, part) => sum + part.length.value, 0);
}

function gapPart(joint: ReportJoint, report: Report): SumPart {
  return { name: jointName(report, joint.id), joint: joint.id, length: joint.gap, toldBy: 'photo' };
}

/** A part of a stretch as it lies now, with its place: piece k lies at 2k, the joint after it at 2k + 1. */
interface PlacedPart extends SumPart {
  readonly place: number;
}

/** Everything of the stretch where the filler is the only new piece; and what lies between its neighbours. */
function waysToSum(stretch: Stretch, fillerId: string, report: Report): SumPart[][] {
  const all = [...gapsOf(stretch, report), ...outOf(stretch, report)].sort((a, b) => a.place - b.place);
  const order = stretch.order ?? [];
  const at = order.findIndex((part) => 'filler' in part && part.filler === fillerId);
  if (at < 0) return [];
  const placesIn = (parts: typeof order): number[] =>
    parts.flatMap((part) => ('piece' in part ? [2 * stretch.pieces.indexOf(part.piece)] : []));
  const before = Math.max(-2, ...placesIn(order.slice(0, at)));
  const after = Math.min(2 * stretch.pieces.length, ...placesIn(order.slice(at)));
  const between = all.filter(({ place }) => place > before && place < after);
  const alone = order.filter((part) => !('piece' in part)).length === 1;
  return (alone ? [all, between] : [between]).map((parts) => parts.map(withoutPlace));
}

function withoutPlace({ place: _, ...part }: PlacedPart): SumPart {
  return part;
}

function gapsOf({ run, pieces }: Stretch, report: Report): PlacedPart[] {
  return report.joints.flatMap((joint) => {
    if (!joint.open || joint.run !== run || !joint.pieces) return [];
    const [before, after] = joint.pieces.map((piece) => pieces.indexOf(piece));
    if (before < 0 && after < 0) return [];
    return [{ ...gapPart(joint, report), place: before < 0 ? 2 * after - 1 : 2 * before + 1 }];
  });
}

function outOf(stretch: Stretch, report: Report): PlacedPart[] {
  const run = report.runs.find((r) => r.id === stretch.run);
  return takenOut(stretch).flatMap((index) => {
    const piece = run?.pieces[index];
    if (piece?.kind !== 'straight') return [];
    return [
      {
        name: `${nameAmongRuns(stretch.run, index, report)} taken out`,
        joint: null,
        length: piece.length,
        toldBy: 'photo' as const,
        place: 2 * stretch.pieces.indexOf(index),
      },
    ];
  });
}
