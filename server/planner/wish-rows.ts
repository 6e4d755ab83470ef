import { type FillerModel, movedBy, placeOf, type Slack, slackWeights, sumAt } from './filler-model.js';
import { type Column, constant, type Linear, sumOf, term, times } from './linear-program.js';
import { add, type Vec } from './plane-vectors.js';
import type { Region } from './regions.js';
import { dotsTowards, type TrackDot, type TrackSpan } from './spans.js';
import { asMeasured, type DotPlace, lackOf, type WayOut, waysOut } from './ways-out.js';

/** A way out that needs a longer move than this, when there is a much shorter one, is not offered to the solver. */
const farWayMm = 500;

/**
 * Keeps the track out of regions, span by span: rows are added only for spans that break a wish, so that the program
 * stays small; the caller solves again until none does.
 */
export class RegionRows {
  private readonly slackOf = new Map<Region, Slack>();
  private readonly done = new Map<string, { region: Region; span: TrackSpan; choices: Column[] }>();

  constructor(
    private readonly model: FillerModel,
    private readonly spans: readonly TrackSpan[],
    private readonly regions: readonly Region[],
  ) {
    for (const region of regions) {
      const column = model.program.continuous(0, 1e4);
      const weight = region.kind === 'on-table' ? slackWeights['on-table'] : slackWeights.wish;
      const slack: Slack = { column, kind: region.kind, index: region.index, weight };
      model.slacks.push(slack);
      this.slackOf.set(region, slack);
    }
  }

  /** Rows for what is broken, or nearly so, in the layout as it lies. */
  addNear(nearMm: number): void {
    for (const region of this.regions) {
      const byPart = new Map<string, { span: TrackSpan; lackMm: number }>();
      for (const span of this.spans) {
        const lackMm = this.lack(region, span, null);
        if (lackMm < -nearMm) continue;
        if (!region.onlyWall) {
          if (lackMm > 0) this.add(region, span);
          continue;
        }
        const key = `${span.chain}:${span.part}`;
        const other = byPart.get(key);
        if (!other || lackMm > other.lackMm) byPart.set(key, { span, lackMm });
      }
      for (const { span } of byPart.values()) this.add(region, span);
    }
  }

  /** Adds rows for all that a solution breaks. @returns how many were added */
  addBroken(values: Float64Array): number {
    let added = 0;
    for (const region of this.regions) {
      const slackMm = values[this.slack(region).column] ?? 0;
      const worst = this.spans
        .map((span) => ({ span, lackMm: this.lack(region, span, values) - slackMm }))
        .filter((s) => s.lackMm > 1e-3)
        .sort((a, b) => b.lackMm - a.lackMm);
      for (const { span } of worst.slice(0, region.onlyWall ? 4 : 12)) if (this.add(region, span)) added++;
    }
    return added;
  }

  /** Columns that choose a way out. */
  choices(): Column[] {
    return [...this.done.values()].flatMap((row) => row.choices);
  }

  /** Adds the rows that another program of the same layout has. @returns what its solution chose, for this program */
  copyFrom(other: RegionRows, values: Float64Array): Map<Column, number> {
    const chosen = new Map<Column, number>();
    for (const [key, { region, span, choices }] of other.done) {
      this.add(this.regions[other.regions.indexOf(region)], span);
      const own = this.done.get(key)?.choices ?? [];
      own.forEach((column, i) => {
        if (choices[i] !== undefined) chosen.set(column, Math.round(values[choices[i]] ?? 0));
      });
    }
    return chosen;
  }

  private slack(region: Region): Slack {
    return this.slackOf.get(region) as Slack;
  }

  private lack(region: Region, span: TrackSpan, values: Float64Array | null): number {
    return lackOf(region, span, values === null ? asMeasured : this.placeIn(span, values));
  }

  private placeIn(span: TrackSpan, values: Float64Array): DotPlace {
    const moved = new Map<number, Vec>();
    return (d) => {
      const by = moved.get(d.after) ?? movedBy(this.model, span.chain, d.after, values);
      moved.set(d.after, by);
      return add(d.measured, by);
    };
  }

  private along(outward: Vec, chain: number, d: TrackDot, offset: number): Linear {
    const [x, y] = placeOf(this.model, chain, d.after, d.measured);
    return sumOf(times(outward[0], x), times(outward[1], y), constant(offset));
  }

  private add(region: Region, span: TrackSpan): boolean {
    const key = `${this.regions.indexOf(region)}:${span.chain}:${span.order}`;
    if (this.done.has(key)) return false;
    const choices: Column[] = [];
    this.done.set(key, { region, span, choices });
    const { program } = this.model;
    const slack = term(1, this.slack(region).column);
    const all = waysOut(region, span, asMeasured);
    const shortest = Math.min(...all.map((w) => w.lackMm));
    const ways = all.filter((w) => w.lackMm <= Math.max(0, shortest) + farWayMm);
    const sumsOf = (way: WayOut) =>
      dotsTowards(span, way.outward).map((d) => this.along(way.outward, span.chain, d, -way.offsetMm - d.radiusMm));
    if (ways.length === 1) {
      for (const sum of sumsOf(ways[0])) program.atLeast(sumOf(sum, slack), 0);
      return true;
    }
    for (const way of ways) {
      const chosen = program.yesNo();
      choices.push(chosen);
      const bridgeMm = Math.max(0, way.lackMm) + farBridgeMm;
      for (const sum of sumsOf(way)) program.atLeast(sumOf(sum, slack, constant(bridgeMm), term(-bridgeMm, chosen)), 0);
    }
    program.atLeast(sumOf(...choices.map((c) => term(1, c))), 1);
    return true;
  }
}

/** Runs move by less than this in any plan; bridges a row that is not chosen. */
const farBridgeMm = 2500;

/** Names the amount by which each wish is let down in a solution, millimetres. */
export function shortfalls(model: FillerModel, values: Float64Array): { slack: Slack; mm: number }[] {
  return model.slacks.map((slack) => ({ slack, mm: sumAt(term(1, slack.column), values) }));
}
