import { jointName } from '../contract/joint-names.js';
import { rangeOf } from './edge-clearance.js';
import { distanceBetween } from './nearest-places.js';
import { add, distance, type Vec } from './plane-vectors.js';
import { clearanceInRange, closingOf } from './predict.js';
import type { Case } from './question.js';
import { plannedMovement, type SolutionPlan } from './read-solution.js';
import { zoneRegions } from './regions.js';
import { trackSpans } from './spans.js';
import { placeOn, shareNearest, type TrackLine } from './track-line.js';
import { lackOf } from './ways-out.js';

/** A wish that a plan does not meet, measured on the planned layout itself. */
export interface Unmet {
  readonly kind: 'gap' | 'bent' | 'closing' | 'clearance' | 'keep-free' | 'spacing' | 'on-table' | 'apart';
  /** Of the wish in its list; of the segment, run or side for what is no wish of the user's. */
  readonly index: number;
  /** As the user called it: `clearance A`. */
  readonly wish: string;
  readonly shortByMm: number;
}

/** Shortfalls below this are rounding. */
export const noticeMm = 0.05;

export function unmetWishes(given: Case, plan: SolutionPlan, lines: readonly TrackLine[]): Unmet[] {
  const all = [
    ...openGaps(given, plan),
    ...closings(given, plan),
    ...clearances(given, lines),
    ...zones(given, plan),
    ...spacings(given, plan, lines),
    ...implied(given, plan),
  ];
  return all
    .filter((u) => u.shortByMm > noticeMm)
    .map((u) => ({ ...u, shortByMm: Math.round(u.shortByMm * 100) / 100 }));
}

/** By the name that people read, and the id that programs look for. */
function wishToClose(report: Case['report'], joint: string): string {
  return `close ${jointName(report, joint)} (${joint})`;
}

function openGaps(given: Case, plan: SolutionPlan): Unmet[] {
  if (!given.wishes.closeGaps) return [];
  const bent = given.chains.flatMap((chain) =>
    chain.bentGaps
      .filter((gap) => !coveredAt(given.report, chain.run, gap.at))
      .map(
        (gap): Unmet => ({
          kind: 'bent',
          index: 0,
          wish: wishToClose(given.report, gap.joint),
          shortByMm: gap.lengthMm,
        }),
      ),
  );
  const left = plan.segments
    .filter((s) => !s.remade)
    .flatMap((s) =>
      s.segment.openGaps.map((gap): Unmet => {
        const wish =
          gap.joint === null ? `close the gap of ${s.segment.stretch.run}` : wishToClose(given.report, gap.joint);
        return { kind: 'gap', index: s.segment.index, wish, shortByMm: gap.length.value };
      }),
    );
  return [...left, ...bent];
}

/** Track that was covered this near to a place was covered there: about half a section. */
const coveredNearMm = 100;

/** Was track of this run covered at or near a place? */
export function coveredAt(report: Case['report'], run: string, at: Vec): boolean {
  return report.notSeen.some((hidden) => {
    if (hidden.run !== run) return false;
    const line = { kind: 'line', from: hidden.from, to: hidden.to } as const;
    return distance(at, placeOn(line, shareNearest(line, at)).at) < coveredNearMm;
  });
}

function closings(given: Case, plan: SolutionPlan): Unmet[] {
  return plan.solution.model.layout.chains.map((chain, index): Unmet => {
    const shortByMm = Math.hypot(...closingOf(plan, index)) - given.wishes.closingMm;
    return { kind: 'closing', index, wish: `closing ${chain.chain.run}`, shortByMm };
  });
}

function clearances(given: Case, lines: readonly TrackLine[]): Unmet[] {
  return given.wishes.clearance.flatMap((wish, index): Unmet[] => {
    const side = given.table.sides.find((s) => s.name === wish.side);
    if (!side) return [];
    const distanceMm = clearanceInRange(given, lines, side, rangeOf(wish, side));
    if (distanceMm === null) return [];
    return [{ kind: 'clearance', index, wish: `clearance ${wish.side}`, shortByMm: wish.atLeastMm - distanceMm }];
  });
}

function zones(given: Case, plan: SolutionPlan): Unmet[] {
  const { layout } = plan.solution.model;
  const spans = trackSpans(layout, given.faceMm);
  return zoneRegions(given.wishes).map((region): Unmet => {
    const lacks = spans.map((span) =>
      lackOf(region, span, (d) => add(d.measured, plannedMovement(plan, span.chain, d.after))),
    );
    const name = given.wishes.keepFree[region.index].name;
    return { kind: 'keep-free', index: region.index, wish: `keep free ${name}`, shortByMm: Math.max(0, ...lacks) };
  });
}

function spacings(given: Case, plan: SolutionPlan, lines: readonly TrackLine[]): Unmet[] {
  return given.wishes.spacing.map((wish, index): Unmet => {
    const label = `spacing ${wish.runs[0]} ${wish.runs[1]}`;
    const [a, b] = wish.runs.map((run) => lines.find((l) => l.run === run));
    if (wish.runs[0] === wish.runs[1] || !a || !b) {
      const slack = plan.solution.model.slacks.find((s) => s.kind === 'spacing' && s.index === index);
      const shortByMm = slack ? plan.solution.values[slack.column] : 0;
      return { kind: 'spacing', index, wish: label, shortByMm };
    }
    return { kind: 'spacing', index, wish: label, shortByMm: wish.atLeastMm - distanceBetween(a, b) };
  });
}

/** What no one has to wish for: track on the table, and runs not on top of each other. */
function implied(given: Case, plan: SolutionPlan): Unmet[] {
  return plan.solution.model.slacks.flatMap((slack): Unmet[] => {
    const shortByMm = plan.solution.values[slack.column] ?? 0;
    if (shortByMm < 0.5) return [];
    if (slack.kind === 'on-table') {
      return [
        { kind: 'on-table', index: slack.index, wish: `table edge ${given.table.sides[slack.index].name}`, shortByMm },
      ];
    }
    if (slack.kind !== 'apart') return [];
    const rule = given.spacingRules.find((r) => r.kind === 'apart' && r.index === slack.index);
    const runs = rule?.chains.map((c) => given.chains[c].run).join(' ') ?? '';
    return [{ kind: 'apart', index: slack.index, wish: `room between ${runs}`, shortByMm }];
  });
}
