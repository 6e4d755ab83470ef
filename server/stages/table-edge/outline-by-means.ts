import { middleInPlace, sigmaOfMiddle } from '../../linalg/middle.js';
import type { LookFromAbove } from './look-from-above.js';
import { squareMm } from './look-from-above.js';
import { leastStep, type MeanStep, MeanSteps } from './mean-steps.js';
import type { OutlineLine } from './table-lines.js';

/** A side that shows on average: where boards or stains of table top and floor are alike, no single place of it need. */
export interface MeanSide {
  readonly line: OutlineLine;
  /** Stretch between the sides before and after it, mm; infinite where there is none. */
  readonly fromMm: number;
  readonly toMm: number;
  /** How much larger its step is than those of lines on the table top and the floor: 0…1, half at five times. */
  readonly clearness: number;
}

export interface MeanOutline {
  /** Counter-clockwise; those that do not show are left out. */
  readonly sides: readonly MeanSide[];
  /** Sum of the clearness of the sides. */
  readonly clearness: number;
}

/** How far the table top's own light may change from one end to the other (common practice, no source). */
const lightSpread = [0.2, 0.03, 0.03];
/** A step so many times as large as usual ones is as likely the edge as not. */
const halfClear = 5;
/** A side that is less clear than this is none. */
const leastClearness = 0.42;
/** A side that is told by the ends of both sides beside it may be as unclear as this: twice what is usual. */
const leastFourth = 0.15;
/** Ends of sides are looked for in such steps; so much of a side may speak against one that is e times less likely, mm. */
const endStepMm = 50;
const endSlackMm = 100;
/** Lines are looked for from so far inside of what lies on the table, mm. */
const slackMm = 20;
const turnDeg = 1.5;
const fineTurnsDeg = [-0.75, -0.375, 0.375, 0.75];
const rounds = 3;

/** Reach of what lies on the table in a direction, mm from the origin. */
type Reach = (thetaRad: number) => number;

/**
 * The rectangle whose sides stand out most from all the lines parallel to them, by mean looks along them.
 * @param reach of what lies on the table, seen from the origin
 */
export function outlineByMeans(above: LookFromAbove, reach: Reach): MeanOutline {
  let best = bestAt(above, reach, 0);
  let bestDeg = 0;
  const tryAt = (degrees: number): void => {
    const found = bestAt(above, reach, (degrees * Math.PI) / 180);
    if (found.clearness <= best.clearness) return;
    best = found;
    bestDeg = degrees;
  };
  for (let degrees = turnDeg; degrees < 90; degrees += turnDeg) tryAt(degrees);
  const around = bestDeg;
  for (const turn of fineTurnsDeg) tryAt(around + turn);
  return outlineOf(best.thetaRad, best.sides.map(withFourth(best)));
}

/** How clearly a side found otherwise shows on average, 0…1 as in `outlineByMeans`. */
export function clearnessByMeans(
  above: LookFromAbove,
  reach: Reach,
  { line, fromMm, toMm }: { readonly line: OutlineLine; readonly fromMm: number; readonly toMm: number },
): number {
  const weighing = new Weighing(new MeanSteps(above, line.thetaRad), reach, line.thetaRad);
  const near = [-squareMm, 0, squareMm].map((d) => weighing.clearness(0, line.rhoMm + d, fromMm, toMm));
  return Math.max(...near);
}

/** Four sides in one orientation; those that are not clear have clearness 0 and lie where the table must reach. */
interface Rectangle {
  readonly thetaRad: number;
  readonly weighing: Weighing;
  readonly sides: readonly ClearLine[];
  /** Sum over the sides. */
  readonly clearness: number;
}

interface ClearLine {
  readonly outMm: number;
  readonly clearness: number;
}

function bestAt(above: LookFromAbove, reach: Reach, thetaRad: number): Rectangle {
  const weighing = new Weighing(new MeanSteps(above, thetaRad), reach, thetaRad);
  // Every side is at least as long as what lies on the table: with the sides found it grows.
  let sides: ClearLine[] = weighing.reach.map((outMm) => ({ outMm, clearness: 0 }));
  for (let round = 0; round < rounds; round++)
    sides = sides.map((_, k) => {
      const [from, to] = stretchOf(sides, k);
      const found = weighing.clearest(k, from, to);
      return found.clearness < leastClearness ? { outMm: weighing.reach[k], clearness: 0 } : found;
    });
  return { thetaRad, weighing, sides, clearness: sides.reduce((sum, side) => sum + side.clearness, 0) };
}

function stretchOf(sides: readonly ClearLine[], k: number): [number, number] {
  return [-sides[(k + 3) % 4].outMm, sides[(k + 1) % 4].outMm];
}

/** Adds a side that is hardly clear where the two beside it end: they tell it as well. */
function withFourth({ weighing, sides }: Rectangle): (side: ClearLine, k: number) => ClearLine {
  return (side, k) => {
    const [before, after] = [sides[(k + 3) % 4], sides[(k + 1) % 4]];
    if (side.clearness > 0 || before.clearness === 0 || after.clearness === 0) return side;
    const likely = weighing.endsBeside(k, sides);
    if (!likely) return side;
    const [from, to] = stretchOf(sides, k);
    const found = weighing.clearest(k, from, to, likely);
    return found.clearness < leastFourth ? side : found;
  };
}

function outlineOf(thetaRad: number, sides: readonly ClearLine[]): MeanOutline {
  return {
    sides: sides.flatMap(({ outMm, clearness }, k) => {
      if (clearness === 0) return [];
      const [before, after] = [sides[(k + 3) % 4], sides[(k + 1) % 4]];
      return {
        line: { thetaRad: thetaRad + (k * Math.PI) / 2, rhoMm: outMm },
        fromMm: before.clearness > 0 ? -before.outMm : Number.NEGATIVE_INFINITY,
        toMm: after.clearness > 0 ? after.outMm : Number.POSITIVE_INFINITY,
        clearness,
      };
    }),
    clearness: sides.reduce((sum, side) => sum + side.clearness, 0),
  };
}

/** What is usual in two directions, and how far a line stands out from it. */
class Weighing {
  /** Of what lies on the table, for each side. */
  readonly reach: readonly number[];
  private readonly usual: readonly Usual[];

  constructor(
    private readonly steps: MeanSteps,
    reach: Reach,
    thetaRad: number,
  ) {
    this.reach = [0, 1, 2, 3].map((k) => reach(thetaRad + (k * Math.PI) / 2));
    this.usual = [0, 1].map((k) => this.usualOf(k));
  }

  /** What steps and looks usual lines have that run along side k. */
  private usualOf(k: number): Usual {
    const [from, to] = [-this.reach[(k + 3) % 4], this.reach[(k + 1) % 4]];
    const steps: number[][] = [[], [], []];
    const inner: number[][] = [[], [], []];
    const looks: number[][] = [[], [], []];
    const counts: number[] = [];
    for (let out = -this.steps.farthestMm(k + 2); out <= this.steps.farthestMm(k); out += squareMm) {
      const mean = this.steps.across(k, out, from, to);
      if (!mean) continue;
      counts.push(mean.seen);
      const isInner = out > -this.reach[k + 2] + 3 * slackMm && out < this.reach[k] - 3 * slackMm;
      for (let c = 0; c < 3; c++) {
        steps[c].push(Math.abs(mean.step[c]));
        if (!isInner) continue;
        inner[c].push(Math.abs(mean.step[c]));
        looks[c].push(mean.inside[c]);
      }
    }
    const look = looks.map(middle);
    return {
      step: leastStep.map((least, c) =>
        Math.hypot(least, sigmaOfMiddle * Math.max(middle(steps[c]), middle(inner[c]))),
      ),
      look,
      lookSpread: lightSpread.map((least, c) =>
        Math.hypot(least, sigmaOfMiddle * middle(looks[c].map((v) => Math.abs(v - look[c])))),
      ),
      seen: middle(counts),
    };
  }

  /**
   * The line along side k that stands out most, beyond what lies on the table.
   * @param likely what else speaks for a distance, 0…1
   */
  clearest(k: number, fromMm: number, toMm: number, likely: (outMm: number) => number = () => 1): ClearLine {
    let best = { outMm: this.reach[k], clearness: 0 };
    let most = 0;
    for (let outMm = this.reach[k] - slackMm; outMm <= this.steps.farthestMm(k); outMm += squareMm) {
      const clearness = this.clearness(k, outMm, fromMm, toMm);
      if (clearness * likely(outMm) <= most) continue;
      most = clearness * likely(outMm);
      best = { outMm, clearness };
    }
    return best;
  }

  /**
   * How likely it is that side k lies at a distance, as the sides before and after it end there: along each the step is
   * what it is beside the table top up to the corner, and none beyond. Null where no end is seen.
   */
  endsBeside(k: number, sides: readonly ClearLine[]): ((outMm: number) => number) | null {
    const [before, after] = [(k + 3) % 4, (k + 1) % 4];
    const back = this.reach[(k + 2) % 4];
    const first = Math.ceil(this.reach[k] / endStepMm) * endStepMm;
    const count = Math.floor((this.steps.farthestMm(k) - first) / endStepMm);
    if (count < 1) return null;
    // What ending at each place explains: a step before it and none after it.
    const explained = new Float64Array(count);
    for (const side of [before, after]) {
      const along = (from: number, to: number): MeanStep | null =>
        side === before
          ? this.steps.across(side, sides[side].outMm, from, to)
          : this.steps.across(side, sides[side].outMm, -to, -from);
      const beside = along(-back, first);
      if (!beside) return null;
      const whole = dot(beside.step, beside.step);
      for (let i = 0; i < count; i++) {
        const here = along(first + i * endStepMm, first + (i + 1) * endStepMm);
        if (!here) continue;
        const share = Math.max(-0.5, Math.min(1.5, dot(here.step, beside.step) / whole)) - 0.5;
        for (let end = 0; end < count; end++) explained[end] += i < end ? share : -share;
      }
    }
    const most = Math.max(...explained);
    return (outMm) => {
      const end = Math.max(0, Math.min(count - 1, Math.round((outMm - first) / endStepMm)));
      return Math.exp(((explained[end] - most) * endStepMm) / endSlackMm);
    };
  }

  /** 0…1. */
  clearness(k: number, outMm: number, fromMm: number, toMm: number): number {
    const mean = this.steps.across(k, outMm, fromMm, toMm);
    if (!mean) return 0;
    const { step, look, lookSpread, seen } = this.usual[k % 2];
    let step2 = 0;
    let off2 = 0;
    for (let c = 0; c < 3; c++) {
      step2 += (mean.step[c] / step[c]) ** 2;
      if (!Number.isNaN(look[c])) off2 += ((mean.inside[c] - look[c]) / lookSpread[c]) ** 2;
    }
    // Fewer squares say less; what is not like the table top inside is no edge of it.
    const share = Math.min(1, mean.seen / Math.max(1, seen));
    const strength = step2 * share * share * (1 / (1 + (off2 / 9) ** 2));
    return strength / (strength + halfClear ** 2);
  }
}

interface Usual {
  readonly step: readonly number[];
  /** NaN where nothing is known to be table top. */
  readonly look: readonly number[];
  readonly lookSpread: readonly number[];
  readonly seen: number;
}

/** Of two steps, in units of the least that counts. */
function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, v, c) => sum + (v * b[c]) / leastStep[c] ** 2, 0);
}

function middle(values: readonly number[]): number {
  return values.length === 0 ? Number.NaN : middleInPlace(Float64Array.from(values));
}
