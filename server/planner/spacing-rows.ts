import { type FillerModel, movedBy, placeOf, type Slack, slackWeights, unseenMm } from './filler-model.js';
import { type Linear, sumOf, term, times } from './linear-program.js';
import { boxesApart, boxOf, nearestBetween } from './nearest-places.js';
import { cross, scale, subtract, type Vec } from './plane-vectors.js';
import type { TrackSpan } from './spans.js';
import { moveStroke, placeOn, type Stroke, strokeEnd } from './track-line.js';

/** Two runs, or two legs of one, and how far apart their centre rails must be. */
export interface SpacingRule {
  readonly kind: 'spacing' | 'apart';
  /** Of the wish; for `apart` the place in the list of rules. */
  readonly index: number;
  readonly chains: readonly [number, number];
  readonly atLeastMm: number;
}

interface Pair {
  readonly a: TrackSpan;
  readonly b: TrackSpan;
  readonly distanceMm: number;
  /** Shares 0…1 along the two strokes, and the unit vector from the first place to the second. */
  readonly shares: readonly [number, number];
  readonly outward: Vec;
}

/**
 * Keeps centre lines apart. Tracks may not pass through each other, so the direction between the nearest places of two
 * spans fixes on which side each stays, and the row is linear.
 */
export class SpacingRows {
  private readonly slacks: Slack[];
  private readonly done = new Map<string, { rule: number; pair: Pair }>();

  constructor(
    private readonly model: FillerModel,
    private readonly spans: readonly TrackSpan[],
    private readonly rules: readonly SpacingRule[],
  ) {
    this.slacks = rules.map((rule) => {
      const column = model.program.continuous(0, 1e4);
      const weight = rule.kind === 'apart' ? slackWeights.apart : slackWeights.wish;
      const slack: Slack = { column, kind: rule.kind, index: rule.index, weight };
      model.slacks.push(slack);
      return slack;
    });
  }

  addNear(nearMm: number): void {
    this.rules.forEach((rule, r) => {
      const byParts = new Map<string, Pair>();
      for (const pair of this.nearPairs(rule, null, rule.atLeastMm + nearMm)) {
        const key = `${pair.a.part}:${pair.b.part}`;
        const other = byParts.get(key);
        if (!other || pair.distanceMm < other.distanceMm) byParts.set(key, pair);
      }
      for (const pair of byParts.values()) this.add(r, pair);
    });
  }

  addBroken(values: Float64Array): number {
    let added = 0;
    this.rules.forEach((rule, r) => {
      const allowedMm = rule.atLeastMm - values[this.slacks[r].column] - unseenMm;
      const pairs = this.nearPairs(rule, values, allowedMm).sort((a, b) => a.distanceMm - b.distanceMm);
      for (const pair of pairs.slice(0, 20)) if (this.add(r, pair)) added++;
    });
    return added;
  }

  /** Adds the rows that another program of the same layout has. */
  copyFrom(other: SpacingRows): void {
    for (const { rule, pair } of other.done.values()) this.add(rule, pair);
  }

  private nearPairs(rule: SpacingRule, values: Float64Array | null, withinMm: number): Pair[] {
    const [first, second] = rule.chains;
    const as = this.spans.filter((s) => s.chain === first);
    const bs = this.spans.filter((s) => s.chain === second);
    const strokesA = as.map((s) => this.strokeAt(s, values));
    const strokesB = first === second ? strokesA : bs.map((s) => this.strokeAt(s, values));
    const boxesA = strokesA.map(boxOf);
    const boxesB = first === second ? boxesA : strokesB.map(boxOf);
    const pairs: Pair[] = [];
    as.forEach((a, i) => {
      bs.forEach((b, k) => {
        if (boxesApart(boxesA[i], boxesB[k]) > withinMm) return;
        if (first === second && !otherLeg(a, b, as.length)) return;
        const near = nearestBetween(strokesA[i], strokesB[k]);
        if (near.distanceMm >= withinMm || near.distanceMm < 1e-9) return;
        const outward = scale(subtract(near.places[1], near.places[0]), 1 / near.distanceMm);
        pairs.push({ a, b, distanceMm: near.distanceMm, shares: near.shares, outward });
      });
    });
    return pairs;
  }

  private strokeAt(span: TrackSpan, values: Float64Array | null): Stroke {
    if (values === null) return span.stroke;
    const [from, to] = span.endsAfter.map((after) => movedBy(this.model, span.chain, after, values));
    return moveStroke(span.stroke, from, to);
  }

  private add(rule: number, pair: Pair): boolean {
    const places = pair.shares.map((s) => s.toFixed(3));
    const key = `${rule}:${pair.a.chain}:${pair.a.order}:${pair.b.order}:${places}`;
    if (this.done.has(key)) return false;
    this.done.set(key, { rule, pair });
    const a = this.placeAt(pair.a, pair.shares[0], pair.outward);
    const b = this.placeAt(pair.b, pair.shares[1], pair.outward);
    const apart = sumOf(b, times(-1, a), term(1, this.slacks[rule].column));
    this.model.program.atLeast(apart, this.rules[rule].atLeastMm);
    return true;
  }

  /** outward · (place at a share of the span's stroke), as the solver's columns move it. */
  private placeAt(span: TrackSpan, share: number, outward: Vec): Linear {
    const project = (after: number, at: Vec, weight: number): Linear => {
      const [x, y] = placeOf(this.model, span.chain, after, at);
      return times(weight, sumOf(times(outward[0], x), times(outward[1], y)));
    };
    const [from, to] = span.endsAfter;
    if (from === to) return project(from, placeOn(span.stroke, share).at, 1);
    return sumOf(project(from, span.stroke.from, 1 - share), project(to, strokeEnd(span.stroke), share));
  }
}

/** Two legs of one run count as neighbours when they run side by side and are not the next one along the track. */
function otherLeg(a: TrackSpan, b: TrackSpan, count: number): boolean {
  if (a.order >= b.order) return false;
  const stepsApart = Math.min(b.order - a.order, count - (b.order - a.order));
  return stepsApart > 3 && Math.abs(cross(a.left, b.left)) < Math.sin(Math.PI / 18);
}
