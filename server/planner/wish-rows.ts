import { type FillerModel, movedBy, movement, type Slack, slackWeights, unseenMm } from './filler-model.js';
import { constant, sumOf, term, times } from './linear-program.js';
import { add, distance, dot, type Vec } from './plane-vectors.js';
import type { Region } from './regions.js';
import { dotsTowards, type TrackDot, type TrackSpan } from './spans.js';
import { placeOn, shareNearest } from './track-line.js';
import { asMeasured, type DotPlace, lackOf, type RegionSide, type WayOut, waysOnSide, waysOut } from './ways-out.js';

/** On which side of a run a zone is to lie, or beyond which of the zone's walls the whole run. */
export type ZoneSide = RegionSide | 0 | 1 | 2 | 3;

/**
 * Of each zone and run: `${index of the wish}:${chain}`; of a wish for part of a side, for all runs: `clearance:${index}`.
 * Missing = wherever it is nearer, span by span.
 */
export type ZoneSides = ReadonlyMap<string, ZoneSide>;

interface Held {
  readonly region: Region;
  readonly span: TrackSpan;
  readonly way: WayOut;
}

/**
 * Keeps the track out of regions, span by span: rows are added only for spans that break a wish, so that the program
 * stays small; the caller solves again until none does. A span gets out of a region one way: the shortest from where it
 * is. That keeps every row linear; which way is taken is looked at again where the span has moved.
 */
export class RegionRows {
  private readonly slackOf = new Map<Region, Slack>();
  private readonly held = new Map<string, Held>();
  private rows: number[] = [];
  private readonly sides: Map<string, ZoneSide>;

  constructor(
    private readonly model: FillerModel,
    private readonly spans: readonly TrackSpan[],
    private readonly regions: readonly Region[],
    sides: ZoneSides,
  ) {
    this.sides = new Map(sides);
    for (const region of regions) {
      const column = model.program.continuous(0, 1e4);
      const slack: Slack = { column, kind: region.kind, index: region.index, weight: weightOf(region) };
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
          if (lackMm > 0) this.hold(region, span);
          continue;
        }
        const key = `${span.chain}:${span.part}`;
        const other = byPart.get(key);
        if (!other || lackMm > other.lackMm) byPart.set(key, { span, lackMm });
      }
      for (const { span } of byPart.values()) this.hold(region, span);
    }
    this.writeRows();
  }

  /** Adds rows for all that a solution breaks. @returns how many spans were added */
  addBroken(values: Float64Array): number {
    const before = this.held.size;
    for (const region of this.regions) {
      const slackMm = values[this.slack(region).column] ?? 0;
      for (const span of this.spans) {
        if (this.held.has(this.key(region, span))) continue;
        if (this.lack(region, span, values) - slackMm > unseenMm) this.hold(region, span);
      }
    }
    const added = this.held.size - before;
    if (added > 0) this.writeRows();
    return added;
  }

  /** Looks again which way out is the shortest, from where a solution puts the spans. @returns how many changed */
  chooseAgain(values: Float64Array): number {
    let changed = 0;
    for (const [key, { region, span, way }] of this.held) {
      if (region.onlyWall) continue;
      const ways = this.ways(region, span, values);
      const now = ways.find((w) => sameWay(w, way));
      const best = shortest(ways);
      if (now && now.lackMm <= Math.max(best.lackMm + worthwhileMm, -worthwhileMm)) continue;
      this.held.set(key, { region, span, way: best });
      changed++;
    }
    if (changed > 0) this.writeRows();
    return changed;
  }

  /** From now on runs that lay beyond one wall of a zone may go round its corners. @returns whether there was one */
  roundCorners(): boolean {
    const beyond = [...this.sides].filter(([key, side]) => typeof side === 'number' && !isOfClearance(key));
    for (const [key] of beyond) this.sides.delete(key);
    return beyond.length > 0;
  }

  /**
   * How much wishes for part of a side lack where track may also leave that part sideways: what is left over then is no
   * shortfall that a person would measure, which is square to the side.
   */
  sidewaysMm(values: Float64Array): number {
    const sideways = this.regions.filter(
      (region) => region.kind === 'clearance' && !region.onlyWall && this.inwardOf(region) === undefined,
    );
    return Math.max(0, ...sideways.map((region) => values[this.slack(region).column] ?? 0));
  }

  get zoneSides(): ZoneSides {
    return this.sides;
  }

  /** Adds the rows that another program of the same layout and wishes has. */
  copyFrom(other: RegionRows): void {
    for (const { region, span, way } of other.held.values()) {
      const own = this.regions[other.regions.indexOf(region)];
      const same = waysOut(own, span, asMeasured).find((w) => sameWay(w, way));
      if (same) this.held.set(this.key(own, span), { region: own, span, way: same });
    }
    this.writeRows();
  }

  private slack(region: Region): Slack {
    return this.slackOf.get(region) as Slack;
  }

  private key(region: Region, span: TrackSpan): string {
    return `${this.regions.indexOf(region)}:${span.chain}:${span.order}`;
  }

  private ways(region: Region, span: TrackSpan, values: Float64Array | null): readonly WayOut[] {
    const all = waysOut(region, span, values === null ? asMeasured : this.placeIn(span, values));
    const side = region.kind === 'keep-free' ? this.sides.get(`${region.index}:${span.chain}`) : this.inwardOf(region);
    if (side === undefined) return all;
    if (typeof side === 'number') return [all[side]];
    return this.besideZone(region, span) ? waysOnSide(all, span, side) : all;
  }

  private inwardOf(region: Region): ZoneSide | undefined {
    return region.kind === 'clearance' ? this.sides.get(clearanceKey(region.index)) : undefined;
  }

  /** Left and right mean something only where the run passes the zone, not on the far side of a loop. */
  private besideZone(region: Region, span: TrackSpan): boolean {
    const [a, , b] = region.corners;
    const centre: Vec = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    const nearest = placeOn(span.stroke, shareNearest(span.stroke, centre)).at;
    return distance(nearest, centre) < distance(a, centre) + besideMm;
  }

  private lack(region: Region, span: TrackSpan, values: Float64Array | null): number {
    if (region.kind === 'keep-free') return shortest(this.ways(region, span, values)).lackMm;
    const lackMm = lackOf(region, span, values === null ? asMeasured : this.placeIn(span, values));
    // Track that is not before the part of the side that is asked about lacks nothing there.
    return lackMm <= 0 || this.inwardOf(region) === undefined
      ? lackMm
      : shortest(this.ways(region, span, values)).lackMm;
  }

  private placeIn(span: TrackSpan, values: Float64Array): DotPlace {
    const moved = new Map<number, Vec>();
    return (d) => {
      const by = moved.get(d.after) ?? movedBy(this.model, span.chain, d.after, values);
      moved.set(d.after, by);
      return add(d.measured, by);
    };
  }

  /** The first way out is the shortest from where the span lies: from there on, choosing again only makes it shorter. */
  private hold(region: Region, span: TrackSpan): void {
    const key = this.key(region, span);
    if (!this.held.has(key)) this.held.set(key, { region, span, way: shortest(this.ways(region, span, null)) });
  }

  /** What moves together and gets out the same way needs one row: that of the dot which is furthest in. */
  private writeRows(): void {
    const { program } = this.model;
    for (const row of this.rows) program.release(row);
    const strictest = new Map<string, { region: Region; way: WayOut; chain: number; dot: TrackDot; clearMm: number }>();
    for (const { region, span, way } of this.held.values()) {
      for (const d of dotsTowards(span, way.outward)) {
        const outward = way.outward.map((n) => n.toFixed(9));
        const key = `${this.regions.indexOf(region)}:${span.chain}:${d.after}:${outward}`;
        const clearMm = dot(way.outward, d.measured) - way.offsetMm - d.radiusMm;
        const other = strictest.get(key);
        if (!other || clearMm < other.clearMm) strictest.set(key, { region, way, chain: span.chain, dot: d, clearMm });
      }
    }
    this.rows = [...strictest.values()].map(({ region, way, chain, dot: { after }, clearMm }) => {
      const [x, y] = movement(this.model, chain, after);
      const moved = sumOf(times(way.outward[0], x), times(way.outward[1], y));
      return program.atLeast(sumOf(moved, constant(clearMm), term(1, this.slack(region).column)), 0);
    });
  }
}

function weightOf({ kind, firm }: Region): number {
  if (kind === 'on-table' || firm) return slackWeights['on-table'];
  return kind === 'safety' ? slackWeights.safety : slackWeights.wish;
}

/** The key of a wish for part of a side among the sides of zones. */
export function clearanceKey(index: number): string {
  return `clearance:${index}`;
}

function isOfClearance(key: string): boolean {
  return key.startsWith('clearance:');
}

function sameWay(a: WayOut, b: WayOut): boolean {
  return dot(a.outward, b.outward) > 1 - 1e-9 && Math.abs(a.offsetMm - b.offsetMm) < 1e-6;
}

/** Track this near to a zone passes it on one side: about a third of a section. */
const besideMm = 80;

/** A way out that is shorter by less than this is not worth another look. */
const worthwhileMm = 0.5;

function shortest(ways: readonly WayOut[]): WayOut {
  return ways.reduce((a, b) => (b.lackMm < a.lackMm ? b : a));
}
