import type { Wishes } from '../contract/wishes.js';
import { nearestToSide } from './edge-clearance.js';
import { distanceBetween } from './nearest-places.js';
import { add } from './plane-vectors.js';
import { plannedLines } from './predict.js';
import type { Case, Clock } from './question.js';
import { plannedMovement, type SolutionPlan } from './read-solution.js';
import { zoneRegions } from './regions.js';
import { trackSpans } from './spans.js';
import { roomForTrains } from './train-room.js';
import { type Unmet, unmetWishes } from './unmet.js';
import { lackOf } from './ways-out.js';

type Place = NonNullable<ReturnType<typeof roomForTrains>['trainRoom']>['places'][number];

/** What a car is to have to spare where room is made for it, about what laying by hand is off: practice, no source. */
const spareMm = 3;

/** Less than this deep is rounding. */
const noticeMm = 0.5;

/** Each round makes room where the plan before it lacked some; more than these never helped. */
const roundsAtMost = 3;

export interface RoomyPlan {
  /** The case with all room that had to be made for the longest car; the one given where none had to be. */
  readonly given: Case;
  readonly plan: SolutionPlan;
}

/**
 * Where the user's longest car would hit something along a plan, plans again with that room as what is given up last: a
 * wish is broken before a train runs over the edge, an open gap or a loop that does not close is not. Where no such plan
 * is found the first one stays.
 */
export async function withRoomToRun(
  given: Case,
  first: SolutionPlan,
  planAgain: (given: Case, clock: Clock) => Promise<SolutionPlan | null>,
  clock: () => Clock,
): Promise<RoomyPlan> {
  let best: RoomyPlan = { given, plan: first };
  let [roomy, last] = [given, first];
  for (let round = 0; round < roundsAtMost && depthMm(given, last) > 0; round++) {
    roomy = withRoom(roomy, last);
    const next = await planAgain(roomy, clock());
    if (next === null) break;
    if (isSafer(given, next, best.plan)) best = { given: roomy, plan: next };
    last = next;
  }
  return best;
}

/** How deep the longest car is in what it hits, all places together. */
function depthMm(given: Case, plan: SolutionPlan): number {
  const deep = hitsOf(given, plan).reduce((mm, place) => mm - place.roomMm, 0);
  return deep < noticeMm ? 0 : deep;
}

function hitsOf(given: Case, plan: SolutionPlan): Place[] {
  return (roomForTrains(given, plan).trainRoom?.places ?? []).filter((p) => p.roomMm < 0);
}

/** Safe, or at least hitting fewer things while no wish suffers: to hit the same less deep is worth no change. */
function isSafer(given: Case, plan: SolutionPlan, known: SolutionPlan): boolean {
  const [hits, before] = [plan, known].map((p) => hitsOf(given, p).length);
  const deep = depthMm(given, plan);
  if (hits >= before && (deep > 0 || depthMm(given, known) === 0)) return false;
  const [left, leftBefore] = [plan, known].map((p) => unmetWishes(given, p, plannedLines(p)));
  const openMm = (unmet: readonly Unmet[]) => sumOf(unmet.filter((u) => u.kind === 'gap' || u.kind === 'closing'));
  if (openMm(left) > openMm(leftBefore) + noticeMm) return false;
  return deep === 0 || sumOf(left) <= sumOf(leftBefore) + noticeMm;
}

function sumOf(unmet: readonly Unmet[]): number {
  return unmet.reduce((mm, u) => mm + u.shortByMm, 0);
}

/** The case with the room added that the longest car lacks along a plan. */
function withRoom(given: Case, plan: SolutionPlan): Case {
  const hits = hitsOf(given, plan);
  const lines = plannedLines(plan);
  const lineOf = (run: string) => lines.find((l) => l.run === run);
  const edges = new Map<string, number>();
  const apart = new Map<string, number>();
  for (const { kind, run, against, roomMm } of hits) {
    const line = lineOf(run);
    const side = given.table.sides.find((s) => s.name === against);
    if (kind === 'edge' && line && side) {
      const nearest = nearestToSide(line, side, given.table, given.faceMm);
      const needMm = (nearest?.distanceMm ?? 0) - roomMm + spareMm;
      edges.set(against, Math.max(needMm, edges.get(against) ?? 0));
    }
    const other = lineOf(against);
    if (kind === 'track' && run !== against && line && other)
      apart.set([run, against].sort().join(' '), distanceBetween(line, other) - roomMm + spareMm);
  }
  const keepFree = zonesWithRoom(given, plan, hits);
  const raised = given.wishes.keepFree.flatMap((zone, i) => (keepFree[i] === zone ? [] : [i]));
  const nameOf = (chain: number) => given.chains[chain].run;
  return {
    ...given,
    wishes: { ...given.wishes, keepFree },
    firmZones: new Set([...(given.firmZones ?? []), ...raised]),
    broken: new Set([...given.broken, ...hits.flatMap((p) => (p.kind === 'track' ? [p.run, p.against] : [p.run]))]),
    edgeMm: (side) => Math.max(given.edgeMm(side), edges.get(side.name) ?? 0),
    spacingRules: given.spacingRules.map((rule) => {
      const needMm = apart.get(rule.chains.map(nameOf).sort().join(' '));
      return rule.kind === 'apart' && needMm !== undefined
        ? { ...rule, atLeastMm: Math.max(rule.atLeastMm, needMm) }
        : rule;
    }),
  };
}

/** Zones that are hit, with as much more margin as the car reaches beyond the rails there. */
function zonesWithRoom(given: Case, plan: SolutionPlan, hits: readonly Place[]): Wishes['keepFree'] {
  const spans = trackSpans(plan.solution.model.layout, given.faceMm);
  const regions = zoneRegions(given.wishes);
  return given.wishes.keepFree.map((zone, i) => {
    const rooms = hits.filter((p) => p.kind === 'zone' && p.against === zone.name).map((p) => p.roomMm);
    if (rooms.length === 0) return zone;
    const lacks = spans.map((span) =>
      lackOf(regions[i], span, (d) => add(d.measured, plannedMovement(plan, span.chain, d.after))),
    );
    const railMm = zone.marginMm - Math.max(...lacks);
    return { ...zone, marginMm: Math.max(zone.marginMm, railMm - Math.min(...rooms) + spareMm) };
  });
}
