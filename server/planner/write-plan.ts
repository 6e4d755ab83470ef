import { gapToldBy, type RuledGap, type ToldBy } from '../contract/gap-readings.js';
import { jointName } from '../contract/joint-names.js';
import { type PlanWithoutAlternatives, planFormat } from '../contract/plan.js';
import { planWarning } from '../contract/plan-words.js';
import { narrowestSpacing } from '../contract/spacing-extremes.js';
import type { Estimate } from '../units/estimate.js';
import { halfWidth95 } from '../units/estimate.js';
import { type FractionDenominator, formatInches, mmPerInch } from '../units/inches.js';
import type { Stretch } from './chain.js';
import type { Gap } from './chain-links.js';
import { nearestToSide } from './edge-clearance.js';
import { headingMisclosure } from './misclosure.js';
import { distanceBetween } from './nearest-places.js';
import { pinWork, tiesOf } from './pins-and-ties.js';
import { closingOf, closingU, gapU, linesWithLonger, plannedLines, predictClearances } from './predict.js';
import { type Case, orderedBy, type Solution } from './question.js';
import { newTrackMm, type PlannedFiller, type SegmentPlan, type SolutionPlan } from './read-solution.js';
import { neighbourEnds, type OrderedSection, orderOf } from './section-order.js';
import type { TrackLine } from './track-line.js';
import { type Unmet, unmetWishes } from './unmet.js';

export interface WrittenPlan {
  readonly plan: PlanWithoutAlternatives;
  readonly unmet: readonly Unmet[];
}

/** Writes a solution as the contract's plan; unmet wishes have no cure yet. */
export function writePlan(given: Case, solved: SolutionPlan): WrittenPlan {
  const lines = plannedLines(solved);
  const unmet = unmetWishes(given, solved, lines);
  const { layout } = solved.solution.model;
  const orders = new Map(given.chains.flatMap((c) => c.stretches.map((s) => [s, orderOf(s, solved)] as const)));
  const plan: PlanWithoutAlternatives = {
    format: planFormat,
    stretches: given.chains.flatMap((c) =>
      c.stretches.flatMap((s) => writeStretch(given, solved, s, orders.get(s) ?? [])),
    ),
    fillers: solved.segments.flatMap((s) => s.fillers.map((f) => writeFiller(given, solved, s, f, orders, lines))),
    donors: solved.donors.map((cut) => ({
      donor: cut.donor.id,
      lengthMm: cut.donor.lengthMm,
      pieces: cut.pieces.map((p) => p.id),
      marksMm: cut.marksMm.map(tidy),
      offcutMm: tidy(cut.offcutMm),
      ...(cut.freed ? { freed: true } : {}),
    })),
    shift: Object.fromEntries(layout.chains.map((c, i) => [c.chain.run, [...solved.shifts[i]] as [number, number]])),
    predicted: {
      clearances: predictClearances(given, solved, lines).map((p) => ({
        side: p.side.name,
        distance: tidyEstimate(p.distance),
      })),
      closing: layout.chains.flatMap((c, i) => (c.chain.closed ? [writeClosing(solved, i)] : [])),
      ends: layout.chains.flatMap((c, i) => (c.chain.closed ? [] : [writeEnd(solved, i)])),
      spacings: writeSpacings(given, lines),
    },
    unmet: unmet.map((u) => ({ wish: u.wish, shortByMm: u.shortByMm })),
    ...(given.byRule.length > 0 ? { byRule: given.byRule.map(writeRuled) } : {}),
    warnings: warningsOf(given, solved),
    kerfMm: given.stock.kerfMm,
    stepMm: given.wishes.stepMm,
    prefer: solved.solution.question.prefer,
    cuts: solved.segments.reduce((n, s) => n + s.fillers.filter((f) => f.cut).length, 0),
    changedSections: solved.solution.sections,
    newTrackMm: tidy(newTrackMm(solved.solution)),
    search: { proved: solved.solution.open.length === 0 && solved.cuttingProved, open: openLevels(solved.solution) },
  };
  return { plan, unmet };
}

/** A stretch as planned; one that keeps an open gap as it lies has no true composition and is left out. */
function writeStretch(
  given: Case,
  solved: SolutionPlan,
  stretch: Stretch,
  order: readonly OrderedSection[],
): PlanWithoutAlternatives['stretches'] {
  const parts = solved.segments.filter((s) => s.segment.stretch === stretch);
  const allowance = given.wishes.jointAllowanceMm;
  const changeMm = parts.reduce((sum, p) => sum + p.changeMm, 0);
  // Open gaps that the allowance of the joints takes up are closed, though no length changes.
  const untouched = parts.every((p) => {
    if (p.remade && p.segment.openGaps.length > 0) return false;
    const putIn = p.straights.length + p.fillers.length;
    return !p.remade || (putIn === 0 && p.kept.length === p.segment.pieces.length && Math.abs(p.changeMm) < 1e-9);
  });
  if (untouched && (allowance > 0 || parts.some((p) => p.segment.openGaps.length > 0))) return [];
  const lengths = order.map((o) =>
    'piece' in o ? stretch.lengths[stretch.pieces.indexOf(o.piece)].value : o.lengthMm,
  );
  const openEnds = [stretch.gaps[0], stretch.gaps[stretch.gaps.length - 1]].filter((gap) => gap.open).length;
  const joints = order.length === 0 ? 0 : order.length - 1 + openEnds;
  const thenMm = lengths.reduce((a, b) => a + b, 0) + joints * allowance;
  return [
    {
      run: stretch.run,
      pieces: [...stretch.pieces],
      headingRad: stretch.headingRad,
      nowMm: tidy(thenMm - changeMm),
      thenMm: tidy(thenMm),
      made: madeOf(stretch, order),
      joints,
      order: order.map((o) =>
        'piece' in o
          ? { piece: o.piece }
          : 'filler' in o
            ? { filler: o.filler }
            : { lengthMm: o.lengthMm, source: o.source },
      ),
    },
  ];
}

type Made = PlanWithoutAlternatives['stretches'][number]['made'];

function madeOf(stretch: Stretch, order: readonly OrderedSection[]): Made {
  const whole: { lengthMm: number; count: number; source: 'layout' | 'stock' }[] = [];
  const fillers: Made = [];
  for (const section of order) {
    if ('filler' in section) {
      fillers.push({ filler: section.filler });
      continue;
    }
    const isPiece = 'piece' in section;
    const lengthMm = isPiece ? stretch.lengths[stretch.pieces.indexOf(section.piece)].value : section.lengthMm;
    const source = isPiece ? 'layout' : section.source;
    const same = whole.find((w) => w.source === source && w.lengthMm === lengthMm);
    if (same) same.count++;
    else whole.push({ lengthMm, count: 1, source });
  }
  return [...whole, ...fillers];
}

function writeFiller(
  given: Case,
  solved: SolutionPlan,
  part: SegmentPlan,
  filler: PlannedFiller,
  orders: ReadonlyMap<Stretch, readonly OrderedSection[]>,
  lines: readonly TrackLine[],
): PlanWithoutAlternatives['fillers'][number] {
  const { segment } = part;
  const widest = [...segment.openGaps].sort((a, b) => b.length.value - a.length.value)[0];
  const only = part.fillers.length === 1 && part.straights.length === 0;
  const replacesMm = filler.lengthMm - part.changeMm;
  const gap =
    widest && only && Math.abs(part.changeMm) <= 2 * given.wishes.stepMm ? { value: replacesMm, u: gapU(part) } : null;
  const donor = solved.donors.find((d) => d.pieces.some((p) => p.id === filler.id));
  const [before, after] = neighbourEnds(given, segment.stretch, orders.get(segment.stretch) ?? [], filler.id);
  return {
    id: filler.id,
    lengthMm: filler.lengthMm,
    label: lengthLabel(filler.lengthMm),
    run: segment.stretch.run,
    joint: widest?.joint ?? null,
    gap: gap ? tidyEstimate(gap) : null,
    cut: filler.cut,
    ends: pinWork(before, after, donor?.pieces[0].id === filler.id),
    ties: tiesOf(filler.lengthMm),
    oneStepLonger: withStep(given, solved, part, lines, given.wishes.stepMm),
    oneStepShorter: withStep(given, solved, part, lines, -given.wishes.stepMm),
  };
}

/** What one step too long (or too short: negative) does to the closing of the run and to each side's clearance. */
function withStep(given: Case, solved: SolutionPlan, part: SegmentPlan, lines: readonly TrackLine[], stepMm: number) {
  const { segment } = part;
  const [dx, dy] = closingOf(solved, segment.chain);
  const { along } = segment.stretch;
  const closed = given.chains[segment.chain].closed;
  const longer = linesWithLonger(solved, segment.index, stepMm)[segment.chain];
  const clearances = given.table.sides.flatMap((side) => {
    const now = nearestToSide(lines[segment.chain], side, given.table, given.faceMm);
    const then = nearestToSide(longer, side, given.table, given.faceMm);
    if (!now || !then || Math.abs(then.distanceMm - now.distanceMm) < 0.01) return [];
    return [{ side: side.name, changeMm: tidy(then.distanceMm - now.distanceMm) }];
  });
  return { closingMm: closed ? tidy(Math.hypot(dx + along[0] * stepMm, dy + along[1] * stepMm)) : null, clearances };
}

function writeClosing(solved: SolutionPlan, index: number): PlanWithoutAlternatives['predicted']['closing'][number] {
  const { chain } = solved.solution.model.layout.chains[index];
  const [dx, dy] = closingOf(solved, index);
  const misclosureRad = headingMisclosure(chain.sweepRad);
  const kinkRad = misclosureRad / chain.jointCount;
  return {
    run: chain.run,
    dxMm: tidy(dx),
    dyMm: tidy(dy),
    kinkRad,
    misclosureRad,
    joints: chain.jointCount,
    uMm: tidy(closingU(solved, index)),
  };
}

function writeEnd(solved: SolutionPlan, index: number) {
  const [dx, dy] = closingOf(solved, index);
  return { run: solved.solution.model.layout.chains[index].chain.run, dxMm: tidy(dx), dyMm: tidy(dy) };
}

function writeSpacings(given: Case, lines: readonly TrackLine[]) {
  return given.wishes.spacing.flatMap((wish) => {
    const [a, b] = wish.runs.map((run) => lines.find((l) => l.run === run));
    if (!a || !b || a === b) return [];
    const measured = narrowestSpacing(given.report, [a.run, b.run]);
    const runs: [string, string] = [a.run, b.run];
    return [{ runs, distance: { value: tidy(distanceBetween(a, b)), u: measured?.distance.u ?? 0 } }];
  });
}

function warningsOf(given: Case, solved: SolutionPlan): PlanWithoutAlternatives['warnings'] {
  const warnings: PlanWithoutAlternatives['warnings'] = [];
  for (const part of solved.segments) {
    if (!part.remade || part.fillers.length === 0 || part.segment.openGaps.length === 0) continue;
    const gaps = part.segment.openGaps;
    const unsure = { value: 0, u: gapU(part) };
    if (halfWidth95(unsure) > given.wishes.stepMm) {
      // Where no rule was laid yet most can be done.
      const named = gaps.find((g) => toldByOf(given, g) === 'photo') ?? gaps[0];
      const { joint } = named;
      const photos = given.report.joints.find((j) => j.id === joint)?.seen.map((s) => s.photo) ?? [];
      const gap = joint === null ? `The gap of ${part.segment.stretch.run}` : jointName(given.report, joint);
      const toldBy = toldByOf(given, named);
      const data = { gap, half95Mm: halfWidth95(unsure), stepMm: given.wishes.stepMm, photos, toldBy };
      warnings.push(planWarning('too-uncertain-to-cut', data));
    }
    if (gaps.length > part.fillers.length) {
      const joints = gaps.map((g) => (g.joint === null ? 'a gap' : jointName(given.report, g.joint)));
      warnings.push(
        planWarning('slide-sections', { run: part.segment.stretch.run, filler: part.fillers[0].id, gaps: joints }),
      );
    }
  }
  const [open] = openLevels(solved.solution);
  if (open) warnings.push(planWarning('stopped-early', open));
  if (!solved.cuttingProved) warnings.push(planWarning('cutting-not-proved', undefined as never));
  return warnings;
}

function toldByOf({ byRule }: Case, { joint }: Gap): ToldBy {
  return gapToldBy(byRule.find((ruled) => ruled.joint === joint));
}

/** Rule and photo as they are: from them it is told again whether they agree. */
function writeRuled({ joint, length, rule, photo }: RuledGap) {
  return { joint, length: tidyEstimate(length), rule, photo };
}

/** What is not proved, each in its own unit: cuts and changed sections are one sum in the program. */
function openLevels(solution: Solution): NonNullable<PlanWithoutAlternatives['search']>['open'] {
  return solution.open.map(({ level, value, bound }) => {
    const known = Number.isFinite(bound) ? bound : null;
    if (level !== 'cuts' && level !== 'sections') return { level, value, bound: known };
    const [first, then] = [Math.floor(value / orderedBy), value % orderedBy];
    const least = Math.max(0, known ?? 0);
    if (Math.floor(least / orderedBy) < first) return { level, value: first, bound: Math.floor(least / orderedBy) };
    return { level: level === 'cuts' ? 'sections' : 'cuts', value: then, bound: Math.floor(least % orderedBy) };
  });
}

/** Inches with a fraction where the length is one, else millimetres. */
function lengthLabel(lengthMm: number): string {
  for (const denominator of [16, 32, 64] as FractionDenominator[]) {
    const parts = (lengthMm / mmPerInch) * denominator;
    if (Math.abs(parts - Math.round(parts)) < 0.01) return formatInches(lengthMm, denominator);
  }
  return `${lengthMm.toFixed(1)} mm`;
}

function tidy(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}

function tidyEstimate(e: Estimate): Estimate {
  return { value: tidy(e.value), u: tidy(e.u) };
}
