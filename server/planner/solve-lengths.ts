import { throwIfCancelled } from '../base/cancel.js';
import { sumAt, sumOf, term } from './linear-program.js';
import { type Case, type Clock, metMm, type Posed, pose, type Question, timeFor, worthwhile } from './question.js';
import type { ZoneSides } from './wish-rows.js';
import { zoneSides } from './zone-sides.js';

/** What the program of lengths alone says: a bound, and which segments change by how much. */
export interface Lengths {
  readonly posed: Posed;
  readonly values: Float64Array;
  /** No plan of sections can leave less unmet. */
  readonly unmetMm: number;
  /** No plan of sections can be shorter by less than this (longer by more, where it is negative). */
  readonly shorterMm: number;
}

/**
 * Lets every length be anything: what is unmet then is unmet by every plan, and of the ways to get there the one that
 * changes the fewest stretches is a good guess. Zones in the way are tried on either side of the track.
 * @returns null when the time ran out
 */
export async function solveLengths(given: Case, question: Question, clock: Clock): Promise<Lengths | null> {
  const sides = zoneSides(given);
  let best = await bestOf(given, question, sides.likely, clock, null);
  if (best !== null && best.unmetMm > metMm) best = await bestOf(given, question, sides.more, clock, best);
  if (best?.posed.regionRows.roundCorners()) best = (await lengthsFor(best.posed, clock, best)) ?? best;
  return best === null ? null : withFewerMoved(best, clock);
}

async function bestOf(
  given: Case,
  question: Question,
  sides: readonly ZoneSides[],
  clock: Clock,
  known: Lengths | null,
): Promise<Lengths | null> {
  let best = known;
  let bestAim = scoreOf(best);
  for (const zones of sides) {
    if (best !== null && performance.now() > clock.deadlineMs) break;
    const found = await lengthsFor(pose(given, { ...question, zoneSides: zones }, true), clock, null, bestAim);
    const aim = scoreOf(found);
    if (aim >= bestAim) continue;
    best = found;
    bestAim = aim;
  }
  return best;
}

/** The aim; far above any other where a wish for part of a side is unmet by a measure that is not the user's. */
function scoreOf(lengths: Lengths | null): number {
  if (lengths === null) return Infinity;
  const { posed, values } = lengths;
  return sumAt(posed.aim, values) + (posed.regionRows.sidewaysMm(values) > metMm ? mismeasured : 0);
}

const mismeasured = 1e12;

const roundsAtMost = 16;

/** One linear program after the other until what it finds breaks no wish unnoticed and takes the shortest ways out. */
async function lengthsFor(
  posed: Posed,
  clock: Clock,
  known: Lengths | null = null,
  toBeat = Infinity,
): Promise<Lengths | null> {
  const { program } = posed.model;
  let best = known;
  let bestAim = known === null ? Infinity : sumAt(posed.aim, known.values);
  if (known !== null) posed.regionRows.chooseAgain(known.values);
  for (let round = 0; round < roundsAtMost; round++) {
    throwIfCancelled(clock.signal);
    const found = await program.least(posed.aim, {
      timeLimitMs: Math.max(300, timeFor(clock, 0.5)),
      wholeOnly: new Set(),
    });
    if (found.status !== 'optimal' || (round === 0 && found.objective > toBeat)) return best;
    if (posed.addBroken(found.values) > 0) continue;
    const gain = bestAim - found.objective;
    if (gain > 0) {
      bestAim = found.objective;
      const [unmetMm, shorterMm] = [posed.unmet, posed.shorter].map((sum) => sumAt(sum, found.values));
      best = { posed, values: found.values, unmetMm: Math.max(0, unmetMm), shorterMm };
    }
    if (gain < worthwhile || posed.regionRows.chooseAgain(found.values) === 0) break;
  }
  return best;
}

/** One changed stretch more or less is worth as much as this much movement. */
const movedWeightMm = 200;

/** Of all ways to leave as little unmet, one that changes fewer stretches; looked for only a short while. */
async function withFewerMoved(lengths: Lengths, clock: Clock): Promise<Lengths> {
  const { posed } = lengths;
  const { program } = posed.model;
  // The largest loop changes what it can.
  if (posed.moved.length === 0 || posed.question.prefer === 'largest-loop') return lengths;
  program.clearLevels();
  program.keepLevel(posed.unmet, sumAt(posed.unmet, lengths.values) + 1e-4);
  const moved = sumOf(...posed.moved.map((c) => term(movedWeightMm, c)));
  const fewer = await program.least(sumOf(posed.aim, moved), {
    timeLimitMs: Math.min(150, timeFor(clock, 0.2)),
    start: lengths.values,
    absoluteGap: 50,
  });
  program.clearLevels();
  const better = fewer.values.length > 0 && posed.addBroken(fewer.values) === 0;
  return better ? { ...lengths, values: fewer.values } : lengths;
}
