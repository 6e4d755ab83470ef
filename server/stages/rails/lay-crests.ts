import { middleOf } from '../../linalg/middle.js';
import { flangeTrust } from './rail-edges.js';
import type { FollowedLine, SeenCrest } from './seen-crests.js';

/** A crest lies this near to where the light puts it, and changes by so much from one place to the next, millimetres. */
const lightScatterMm = 0.5;
const changeMm = 0.15;
/** Farther off than this it is taken for something else. */
const farthestMm = 1.2;
/** What it costs that the edges fit badly, that a crest changes at most, that a place is left out, and that one begins or ends. */
const misfitCost = 3;
const mostChangeCost = 1;
const noneCost = 2.5;
const switchCost = 0.5;

/** So many crests before and after one tell of it: so many at least must agree, and most of them. */
const nearCrests = 3;
const agreeMm = 0.35;
const leastNear = 3;
/** Where one edge of the flanges shows, something else is easily taken for it: what it tells counts less. */
const oneEdgeShare = 0.8;

/** How much counts what the edges tell of a crest, 0…1. */
function trust({ viewRad, showsBothFlanges }: SeenCrest): number {
  return (showsBothFlanges ? 1 : oneEdgeShare) * flangeTrust(viewRad);
}

/** A crest that was chosen, by how far it lies beside where the light puts it, millimetres to the left. */
interface Chosen {
  readonly crest: SeenCrest;
  readonly asideMm: number | null;
}

/**
 * How far beside where one light puts them the crests lie that are seen: a room has more than one light, and a window is
 * no point. Of what the edges tell at a place that is taken which agrees best with the light and with what is told before
 * and after it (Viterbi 1967). The limits above were chosen on 247 drawn photos with known rails.
 * @param lines each with its samples in order, table frame
 * @param crests seen at some of the samples, along each line in order
 * @param crestInLight where the light found puts a crest, millimetres left of the axis
 * @returns for each line, for each of its samples, millimetres to the left; 0 where too little agrees
 */
export function layCrests(
  lines: readonly FollowedLine[],
  crests: readonly SeenCrest[],
  crestInLight: (crest: SeenCrest) => number,
): Float64Array[] {
  return lines.map(({ samples, closed }, line) => {
    const along = crests.filter((crest) => crest.line === line);
    const chosen = choose(along, crestInLight);
    const round = closed ? samples.length : Number.POSITIVE_INFINITY;
    const aside = chosen.map(({ crest }, i) => trust(crest) * asideNear(chosen, i, round));
    return between(along, aside, samples.length, closed);
  });
}

function choose(crests: readonly SeenCrest[], crestInLight: (crest: SeenCrest) => number): Chosen[] {
  const options = crests.map((crest) => {
    const light = crestInLight(crest);
    const told = crest.choices
      .map(({ crestMm, share }) => ({ asideMm: crestMm - light, share }))
      .filter(({ asideMm }) => Math.abs(asideMm) < farthestMm);
    return [
      { asideMm: null, lightMm: light, cost: noneCost },
      ...told.map(({ asideMm, share }) => ({
        asideMm,
        lightMm: light,
        cost: misfitCost * (1 - share) + 0.5 * (asideMm / lightScatterMm) ** 2,
      })),
    ];
  });
  const costs: number[][] = [];
  const from: number[][] = [];
  options.forEach((now, i) => {
    const before = i > 0 ? options[i - 1] : [];
    const steps = now.map((to) => {
      let best = { cost: i > 0 ? Number.POSITIVE_INFINITY : 0, k: 0 };
      before.forEach((at, k) => {
        const cost = costs[i - 1][k] + changeCost(at, to);
        if (cost < best.cost) best = { cost, k };
      });
      return best;
    });
    costs.push(steps.map(({ cost }, k) => cost + now[k].cost));
    from.push(steps.map(({ k }) => k));
  });
  const chosen: Chosen[] = [];
  let k = 0;
  for (let i = options.length - 1; i >= 0; i--) {
    if (i === options.length - 1) k = costs[i].indexOf(Math.min(...costs[i]));
    chosen[i] = { crest: crests[i], asideMm: options[i][k].asideMm };
    k = from[i][k];
  }
  return chosen;
}

interface Option {
  readonly asideMm: number | null;
  readonly lightMm: number;
}

function changeCost(a: Option, b: Option): number {
  if (a.asideMm === null || b.asideMm === null) return switchCost;
  const change = a.asideMm + a.lightMm - b.asideMm - b.lightMm;
  return Math.min(mostChangeCost, 0.5 * (change / changeMm) ** 2);
}

/** What the crests before and after one tell of it: the line through those that agree; 0 where most do not. */
function asideNear(chosen: readonly Chosen[], i: number, round: number): number {
  const near: { d: number; mm: number | null }[] = [];
  const isClosed = Number.isFinite(round);
  // Nothing is counted twice that lies before one as well as after it.
  const reach = isClosed ? Math.min(nearCrests, (chosen.length - 1) >> 1) : nearCrests;
  for (let k = i - reach; k <= i + reach; k++) {
    const other = isClosed ? chosen.at(k % chosen.length) : chosen[k];
    if (other) near.push({ d: distance(other.crest.sample - chosen[i].crest.sample, round), mm: other.asideMm });
  }
  const seen = near.flatMap(({ d, mm }) => (mm === null ? [] : [{ d, mm }]));
  // Where the light changes, what is told on this side of it.
  const own = chosen[i].asideMm ?? middleOf(Float64Array.from(seen, ({ mm }) => mm));
  const agreeing = seen.filter(({ mm }) => Math.abs(mm - own) < agreeMm);
  return agreeing.length < leastNear || agreeing.length <= near.length / 2 ? 0 : valueAtZero(agreeing);
}

function distance(samples: number, round: number): number {
  return Number.isFinite(round) ? samples - round * Math.round(samples / round) : samples;
}

/** The line through points at 0; their mean where all lie on one side of it. */
function valueAtZero(points: readonly { readonly d: number; readonly mm: number }[]): number {
  const n = points.length;
  const meanD = points.reduce((sum, { d }) => sum + d, 0) / n;
  const mean = points.reduce((sum, { mm }) => sum + mm, 0) / n;
  const spread = points.reduce((sum, { d }) => sum + (d - meanD) ** 2, 0);
  if (!points.some(({ d }) => d < 0) || !points.some(({ d }) => d > 0)) return mean;
  return mean - (meanD * points.reduce((sum, { d, mm }) => sum + (d - meanD) * mm, 0)) / spread;
}

/** Values at all samples, linear between those given. */
function between(crests: readonly SeenCrest[], aside: readonly number[], count: number, closed: boolean): Float64Array {
  const out = new Float64Array(count);
  if (crests.length === 0) return out;
  const last = crests.length - 1;
  let next = 0;
  for (let i = 0; i < count; i++) {
    while (next <= last && crests[next].sample < i) next++;
    const [a, b] = [next > 0 ? next - 1 : closed ? last : 0, next <= last ? next : closed ? 0 : last];
    const [from, to] = [
      crests[a].sample - (next > 0 ? 0 : closed ? count : 0),
      crests[b].sample + (next <= last ? 0 : closed ? count : 0),
    ];
    const t = to > from ? Math.max(0, Math.min(1, (i - from) / (to - from))) : 0;
    out[i] = aside[a] + t * (aside[b] - aside[a]);
  }
  return out;
}
