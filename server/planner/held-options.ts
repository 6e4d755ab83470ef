import type { FillerModel } from './filler-model.js';
import type { Segment } from './layout-parts.js';
import { orderedBy } from './question.js';
import { wholeDonorCuts } from './segment-columns.js';

/** A composition of one segment that fills it as it lies. */
export interface HeldOption {
  /** Places within the segment's `pieces` that are kept. */
  readonly kept: readonly number[];
  /** How many of each kind of straight. */
  readonly straights: readonly number[];
  readonly fillers: number;
}

interface Cost {
  readonly first: number;
  readonly second: number;
  readonly third: number;
}

/** What a segment's length should change by, and how far off it may be. */
export interface Aim {
  readonly aimMm: number;
  readonly withinMm: number;
  readonly sectionsFirst: boolean;
  /** How many of each kind of straight are left. */
  readonly atHand: readonly number[];
}

/**
 * The best composition of a segment on its own, by cuts and changed sections. Looks at all of them: pieces taken out,
 * straights put in, number of fillers. Where the track lies as it should, nothing can do with less, so when every segment
 * gets its own best, the whole plan is the best.
 * @returns null when nothing makes that length
 */
export function bestHeldOption(model: FillerModel, segment: Segment, aim: Aim): HeldOption | null {
  const search = new OptionSearch(model, segment, aim);
  search.takeOut(0, [], 0);
  return search.best?.option ?? null;
}

class OptionSearch {
  best: { option: HeldOption; cost: Cost } | null = null;
  private readonly lengths: number[];
  private readonly targetMm: number;

  constructor(
    private readonly model: FillerModel,
    private readonly segment: Segment,
    private readonly aim: Aim,
  ) {
    this.lengths = segment.pieces.map((k) => segment.stretch.lengths[k].value);
    this.targetMm = segment.nowMm + aim.aimMm;
  }

  /** Decides for each piece whether it stays; of equal pieces the last ones go first, as in the program. */
  takeOut(at: number, kept: number[], keptMm: number): void {
    if (at === this.lengths.length) {
      this.putIn(0, { kept, straights: [], keptMm, count: kept.length });
      return;
    }
    const length = this.lengths[at];
    const twin = this.lengths.findIndex((l, i) => i < at && Math.abs(l - length) <= 1e-6);
    const twinOut = twin >= 0 && this.lastTwinOut(at, kept);
    if (!twinOut) this.takeOut(at + 1, [...kept, at], keptMm + length);
    this.takeOut(at + 1, kept, keptMm);
  }

  private lastTwinOut(at: number, kept: readonly number[]): boolean {
    for (let i = at - 1; i >= 0; i--) {
      if (Math.abs(this.lengths[i] - this.lengths[at]) <= 1e-6) return !kept.includes(i);
    }
    return false;
  }

  private putIn(
    kind: number,
    so: { kept: readonly number[]; straights: number[]; keptMm: number; count: number },
  ): void {
    const { kinds, options } = this.model;
    const mostMm = this.targetMm + this.aim.withinMm;
    if (so.keptMm > mostMm) return;
    const removed = this.lengths.length - so.kept.length;
    if (
      this.best &&
      this.costOf({ cuts: 0, wholes: 0, sections: removed + so.count - so.kept.length, third: 0 }).first >
        this.best.cost.first
    )
      return;
    if (kind === kinds.length) {
      this.fill(so, removed);
      return;
    }
    // What only a plan that takes it out elsewhere would set free is not there yet.
    const most = kinds[kind].source === 'layout' ? 0 : this.aim.atHand[kind];
    for (let n = 0; n <= most; n++) {
      const keptMm = so.keptMm + n * (kinds[kind].lengthMm + options.wishes.jointAllowanceMm);
      if (keptMm > mostMm + 1e-6) break;
      const length = so.keptMm + n * kinds[kind].lengthMm;
      this.putIn(kind + 1, { ...so, straights: [...so.straights, n], keptMm: length, count: so.count + n });
    }
  }

  private fill(
    so: { kept: readonly number[]; straights: number[]; keptMm: number; count: number },
    removed: number,
  ): void {
    const { options } = this.model;
    const { stepMm, shortestFillerMm, jointAllowanceMm: allowance } = options.wishes;
    const fillersAtMost = this.model.segments[this.segment.index].fillers.length;
    const longestMm = Math.max(0, ...options.stock.donors.map((d) => d.lengthMm)) - options.stock.kerfMm;
    const mostSteps = Math.floor((longestMm + 1e-6) / stepMm);
    const leastSteps = Math.ceil((shortestFillerMm - 1e-6) / stepMm);
    const wholes = this.wholeDonors(so.straights);
    for (let fillers = 0; fillers <= fillersAtMost; fillers++) {
      const sections = so.count + fillers;
      const restMm = this.targetMm - so.keptMm - allowance * (sections + this.segment.jointsBeside);
      const steps = Math.max(fillers * leastSteps, Math.min(fillers * mostSteps, Math.round(restMm / stepMm)));
      const changeMm = steps * stepMm - restMm;
      if (Math.abs(changeMm) > this.aim.withinMm) continue;
      const putInMm = so.keptMm - so.kept.reduce((sum, k) => sum + this.lengths[k], 0) + steps * stepMm;
      const third = Math.abs(changeMm) + 0.02 * putInMm;
      const cost = this.costOf({ cuts: fillers, wholes, sections: removed + sections - so.kept.length, third });
      if (this.best && !isLess(cost, this.best.cost)) continue;
      this.best = { option: { kept: so.kept, straights: so.straights, fillers }, cost };
    }
  }

  private wholeDonors(straights: readonly number[]): number {
    const { kinds } = this.model;
    return straights.reduce((count, n, k) => count + (kinds[k].source === 'donor' ? n : 0), 0);
  }

  private costOf(of: { cuts: number; wholes: number; sections: number; third: number }): Cost {
    const { cuts, wholes, sections, third } = of;
    if (this.aim.sectionsFirst) return { first: sections, second: cuts + wholes * wholeDonorCuts, third };
    return { first: cuts, second: sections + wholes * wholeDonorCuts * orderedBy, third };
  }
}

function isLess(a: Cost, b: Cost): boolean {
  if (a.first !== b.first) return a.first < b.first;
  if (a.second !== b.second) return a.second < b.second;
  return a.third < b.third - 1e-9;
}
