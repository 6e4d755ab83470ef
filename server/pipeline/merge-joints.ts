import type { MeasuredPiece, MeasuredRun } from '../scene/measured-layout.js';
import type { JointReading, RailJoint } from '../scene/rail-joint.js';
import { alongArc, pointOnArc } from '../scene/track-observation.js';
import type { Estimate } from '../units/estimate.js';
import { nearestOnRun } from './run-places.js';

/** One joint in two photos: this near along the track and beside it, millimetres. */
const sameJointMm = 8;
/** Two joints on one run lie at least this far apart: the shortest piece of track that carries a tie. Practice. */
const apartMm = 28;
/** What two photos of one joint have in common (the shape of the rail ends, pins), so that no mean is surer than this. */
const commonUMm = 0.12;

type Place = { readonly x: number; readonly y: number };

/**
 * Mean of estimates by their uncertainties (JCGM 100:2008, and with the scatter as it is where it is larger than they
 * say: Birge 1932, Phys. Rev. 40:207).
 */
export function meanOf(estimates: readonly Estimate[]): Estimate {
  if (estimates.length === 1) return estimates[0];
  const weights = estimates.map((e) => 1 / Math.max(1e-6, e.u * e.u));
  const sum = weights.reduce((a, b) => a + b, 0);
  const value = estimates.reduce((a, e, i) => a + weights[i] * e.value, 0) / sum;
  const scatter = estimates.reduce((a, e, i) => a + weights[i] * (e.value - value) ** 2, 0) / (estimates.length - 1);
  return { value, u: Math.hypot(Math.sqrt(Math.max(1, scatter) / sum), commonUMm) };
}

/**
 * Light that falls into a slit makes it look narrower than it is, never wider: one reading in so many, by up to so much, all
 * alike likely (of 370 slits of 0.7 mm and more with truth one in seven read more than 0.4 mm too narrow).
 */
const litShare = 0.15;
const litMm = 1.5;
const widestSlitMm = 5;
const slitStepMm = 0.02;

/**
 * What several photos say of one slit: the mean of the widths that it may have, by how likely the readings are of each (a
 * mixture of the usual error and of light in the slit). Where they agree it is `meanOf`; where not, the wider counts more.
 */
export function slitOf(readings: readonly Estimate[]): Estimate {
  if (readings.length === 1) return readings[0];
  let [sum, sumMm, sumSquares] = [0, 0, 0];
  for (let mm = 0; mm <= widestSlitMm; mm += slitStepMm) {
    const likely = readings.reduce((product, { value, u }) => {
      const usual = Math.exp(-0.5 * ((value - mm) / u) ** 2) / (u * Math.sqrt(2 * Math.PI));
      const lit = mm > value && mm < value + litMm ? 1 / litMm : 0;
      return product * ((1 - litShare) * usual + litShare * lit);
    }, 1);
    sum += likely;
    sumMm += likely * mm;
    sumSquares += likely * mm * mm;
  }
  if (!(sum > 0)) return meanOf(readings);
  const value = sumMm / sum;
  return { value, u: Math.hypot(Math.sqrt(Math.max(0, sumSquares / sum - value * value)), commonUMm) };
}

/** Joints of a run that other photos show too get the mean of all, gap, rails and place; piece ends follow. */
export function averageJoints(run: MeasuredRun, other: MeasuredRun): MeasuredRun {
  let { pieces } = run;
  const joints = [...run.joints];
  const places = [...run.jointPlaces];
  run.joints.forEach((joint, i) => {
    const same = other.joints.findIndex(
      (o, k) => o.open === joint.open && apart(places[i], other.jointPlaces[k]) < sameJointMm,
    );
    if (same < 0) return;
    const readings = [...readingsOf(joint, places[i]), ...readingsOf(other.joints[same], other.jointPlaces[same])];
    const agreed = agreeing(readings);
    const gapMm = (joint.open ? meanOf : slitOf)(agreed.map((r) => r.gapMm));
    // A closed joint's own place is as good as the other's; only along the track does it mean anything.
    const place = meanPlace(agreed);
    pieces = endsMoved(pieces, places[i], place, joint.gapMm.value, gapMm.value);
    joints[i] = { ...joint, gapMm, railsMm: railsOf(agreed), readings };
    places[i] = place;
  });
  return { ...run, pieces, joints, jointPlaces: places };
}

function readingsOf({ gapMm, railsMm, readings }: RailJoint, place: Place): readonly JointReading[] {
  return readings ?? [{ gapMm, railsMm, place }];
}

/** Of three photos and more one may have taken something else for a rail's end: it says another length than the rest. */
const apartU = 4;
const leastApartMm = 1.5;

/** The readings that agree with the middle one, where they are more than half of at least three; else all. */
function agreeing(readings: readonly JointReading[]): readonly JointReading[] {
  if (readings.length < 3) return readings;
  const inOrder = [...readings].sort((a, b) => a.gapMm.value - b.gapMm.value);
  const middle = inOrder[inOrder.length >> 1].gapMm;
  const kept = readings.filter(
    ({ gapMm }) =>
      Math.abs(gapMm.value - middle.value) <= Math.max(leastApartMm, apartU * Math.hypot(gapMm.u, middle.u)),
  );
  return 2 * kept.length > readings.length ? kept : readings;
}

function meanPlace(readings: readonly JointReading[]): Place {
  let [x, y, sum] = [0, 0, 0];
  for (const { gapMm, place } of readings) {
    const weight = 1 / Math.max(1e-6, gapMm.u * gapMm.u);
    x += weight * place.x;
    y += weight * place.y;
    sum += weight;
  }
  return { x: x / sum, y: y / sum };
}

/**
 * Two open gaps of one run cannot lie on top of each other: the surer one stays, and the rails reach up to it from where
 * the other one ended.
 */
export function withoutOverlaps(run: MeasuredRun): MeasuredRun {
  for (let i = 0; i < run.joints.length; i++)
    for (let k = 0; k < run.joints.length; k++) {
      const [kept, other] = [run.joints[i], run.joints[k]];
      if (i === k || !kept.open || !other.open || kept.gapMm.u > other.gapMm.u) continue;
      const [at, otherAt] = [run.jointPlaces[i], run.jointPlaces[k]];
      const [half, otherHalf] = [kept.gapMm.value / 2, other.gapMm.value / 2];
      if (apart(at, otherAt) > half + otherHalf - 2) continue;
      const reached = (p: MeasuredPiece, s: number): number => {
        const end = pointOnArc(p.arc, s);
        const far = apart(end, at);
        if (Math.abs(apart(end, otherAt) - otherHalf) > 4 || far < half + 1) return s;
        return alongArc(p.arc, at.x + (half / far) * (end.x - at.x), at.y + (half / far) * (end.y - at.y));
      };
      return withoutOverlaps({
        ...run,
        pieces: run.pieces.map((p) => ({ ...p, fromS: reached(p, p.fromS), toS: reached(p, p.toS) })),
        joints: run.joints.filter((_, n) => n !== k),
        jointPlaces: run.jointPlaces.filter((_, n) => n !== k),
      });
    }
  return run;
}

/**
 * A slit whose width is known no better than this is taken for none: rails differ so much in it where rust looks like slits. Of
 * 270 drawn photos with truth 44 such slits were none and 40 were.
 */
const vagueSlitMm = 0.4;

/** Closed joints that are told well enough; where others may be the pieces stay apart, as rails often bend there. */
export function withoutVagueSlits(run: MeasuredRun): MeasuredRun {
  const isVague = ({ open, gapMm }: RailJoint): boolean => !open && gapMm.u > vagueSlitMm;
  const pieces = run.joints.reduce(
    (all, joint, i) =>
      isVague(joint) ? endsMoved(all, run.jointPlaces[i], run.jointPlaces[i], joint.gapMm.value, 0) : all,
    run.pieces,
  );
  const kept = run.joints.flatMap((joint, i) => (isVague(joint) ? [] : [i]));
  return { ...run, pieces, joints: kept.map((i) => run.joints[i]), jointPlaces: kept.map((i) => run.jointPlaces[i]) };
}

function railsOf(readings: readonly JointReading[]): RailJoint['railsMm'] {
  const one = (k: 0 | 1 | 2): Estimate | null => {
    const all = readings.map((r) => r.railsMm[k]).filter((e) => e !== null);
    return all.length === 0 ? null : meanOf(all);
  };
  return [one(0), one(1), one(2)];
}

/** Moves the ends of the pieces at a joint that has moved or whose gap has changed. */
function endsMoved(
  pieces: readonly MeasuredPiece[],
  from: Place,
  to: Place,
  gapBefore: number,
  gapNow: number,
): readonly MeasuredPiece[] {
  const atJoint = (p: Place): boolean => Math.abs(apart(p, from) - gapBefore / 2) < 4;
  const grown = (gapNow - gapBefore) / 2;
  return pieces.map((p) => {
    const [start, end] = [pointOnArc(p.arc, p.fromS), pointOnArc(p.arc, p.toS)];
    const shift = (at: { headingRad: number }): number =>
      (to.x - from.x) * Math.cos(at.headingRad) + (to.y - from.y) * Math.sin(at.headingRad);
    // The joint lies behind the start of the piece after it, and ahead of the end of the piece before it.
    const ahead = (at: Place & { headingRad: number }): number =>
      (from.x - at.x) * Math.cos(at.headingRad) + (from.y - at.y) * Math.sin(at.headingRad);
    const fromS = atJoint(start) && ahead(start) <= 1 ? p.fromS + shift(start) + grown : p.fromS;
    const toS = atJoint(end) && ahead(end) >= -1 ? p.toS + shift(end) - grown : p.toS;
    return { ...p, fromS, toS };
  });
}

/**
 * Adds the joints that only another photo shows: between two pieces where both come from it or the run had a covered
 * part, and closed joints within a piece, which is cut there.
 */
export function addJointsBetween(run: MeasuredRun, other: MeasuredRun): MeasuredRun {
  let { pieces } = run;
  const joints = [...run.joints];
  const places = [...run.jointPlaces];
  other.joints.forEach((joint, k) => {
    const place = other.jointPlaces[k];
    const near = joint.gapMm.value / 2 + apartMm;
    if (places.some((p, i) => apart(p, place) < near + joints[i].gapMm.value / 2)) return;
    const at = nearestOnRun({ pieces }, place);
    if (!at || at.distanceMm > joint.gapMm.value / 2 + sameJointMm) return;
    const piece = pieces[at.piece];
    const half = joint.gapMm.value / 2;
    const within = at.s - piece.fromS > half + sameJointMm && piece.toS - at.s > half + sameJointMm;
    if (within && !joint.open && piece.seen) {
      pieces = [
        ...pieces.slice(0, at.piece),
        { ...piece, toS: at.s - half },
        { ...piece, fromS: at.s + half },
        ...pieces.slice(at.piece + 1),
      ];
    } else if (within) {
      // One photo sees rails where the other sees a gap, or a cover.
      return;
    }
    joints.push(joint);
    places.push(place);
  });
  const order = [...joints.keys()].sort((a, b) => placeOf(pieces, places[a]) - placeOf(pieces, places[b]));
  return { ...run, pieces, joints: order.map((i) => joints[i]), jointPlaces: order.map((i) => places[i]) };
}

/** A number that grows along the run. */
function placeOf(pieces: readonly MeasuredPiece[], place: Place): number {
  const at = nearestOnRun({ pieces }, place);
  if (!at) return 0;
  const p = pieces[at.piece];
  const s = alongArc(p.arc, place.x, place.y);
  return at.piece + (s - p.fromS) / Math.max(1, p.toS - p.fromS);
}

function apart(a: Place, b: Place): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}
