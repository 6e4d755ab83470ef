import { sigmaOfMiddle } from '../../linalg/middle.js';
import { columnSums } from './column-sums.js';
import { endClearness, faces, rootLight, rowsBetween } from './end-clearness.js';
import { type Crossing, crossingsNear } from './end-crossings.js';
import type { PartShape, RailPart } from './rail-parts.js';

/** How heads and flanges are unrolled for their ends to be looked for. */
export const endShape: PartShape = { stepMm: 0.5, acrossStepMm: 0.3, headShare: 0.95, rimMm: 0.3 };

/** Where the rails of one section end, along their strips, in millimetres from the first row. */
export interface SectionEnd {
  /** On the centre line. */
  readonly at: number;
  /** Standard uncertainty; of an end that is not settled the scatter of its parts alone. */
  readonly uMm: number;
  /** Each rail's own end; null where it could not be told. */
  readonly rails: readonly (number | null)[];
  /** How clear the end is: 1 when every part of every rail changes there from rail to something quite different. */
  readonly clearness: number;
}

/** Rail ends of one section stand this close to square, millimetres along the track. */
const squareMm = 1.2;

/** How far the ends of one section's rails are read apart, about, millimetres. */
const usualScatterMm = 0.5;

/**
 * Finds the end that the rails of one section have in common: the place at which heads and flanges of all rails together
 * change most from what rails look like to what does not. A pin that reaches on changes only part of the head, and
 * not the flange. Then each rail's end to a fraction of a pixel.
 * @param roughMm where the rails seem to end
 * @param towards +1 when the rails end in the direction of growing s
 * @param beyondMm how much of the gap there is to look at
 * @param reachMm how far back towards the rail the end may lie
 * @param aheadMm how far on into the gap it may lie
 */
export function findSectionEnd(
  views: readonly RailPart[],
  roughMm: number,
  towards: 1 | -1,
  beyondMm: number,
  reachMm: number,
  aheadMm: number = Math.min(reachMm, beyondMm),
): SectionEnd | null {
  const best = clearest(views, roughMm, towards, beyondMm, towards, -reachMm, aheadMm);
  if (!best) return null;
  const told = faces(views[0], best.at, towards) ? beforeFace : fartherOut;
  return refined(views, told(views, best, towards, beyondMm), towards, beyondMm);
}

/** A place along the strips, and how clearly all rails end there. */
interface ClearPlace {
  readonly at: number;
  readonly clearness: number;
}

/**
 * The clearest end at some distance from a place; null where none is clear at all.
 * @param side which way the distances count: +1 in the direction of growing s
 * @param accepts whether an end there may be it
 */
function clearest(
  views: readonly RailPart[],
  from: number,
  towards: 1 | -1,
  beyondMm: number,
  side: 1 | -1,
  leastMm: number,
  mostMm: number,
  accepts: (at: number) => boolean = () => true,
): ClearPlace | null {
  const { stepMm } = views[0].strip;
  const count = Math.floor((mostMm - leastMm) / stepMm) + 1;
  let best: ClearPlace | null = null;
  for (let i = 0; i < count; i++) {
    const at = from + side * (leastMm + i * stepMm);
    const clearness = endClearness(views, at, towards, beyondMm);
    if (clearness > (best?.clearness ?? 0) && accepts(at)) best = { at, clearness };
  }
  return best;
}

/** The upright face of an end is seen over the rail's height, times the slope of the view, and so much more by its blur. */
const faceRoomMm = 0.75;
const shortestFaceMm = 1.5;

/** Where all heads end as clearly as this, and all parts nearly as clearly as at the end found, a lit face lies between. */
const faceHeads = 0.9;
const faceClearness = 0.8;

/** The end before its upright face, where that is as bright as the heads and ends more clearly than they do. */
function beforeFace(views: readonly RailPart[], found: ClearPlace, towards: 1 | -1, beyondMm: number): ClearPlace {
  const [{ strip, slopesAt, overFlangeMm }] = views;
  const slope = towards * slopesAt(Math.round(found.at / strip.stepMm)).along;
  const heads = views.filter(({ part }) => part === 'head');
  const headsEnd = (at: number): boolean => endClearness(heads, at, towards, beyondMm) > faceHeads;
  const mostMm = overFlangeMm * slope + faceRoomMm;
  const back = towards > 0 ? -1 : 1;
  const best = clearest(views, found.at, towards, beyondMm, back, shortestFaceMm, mostMm, headsEnd);
  return best && best.clearness > faceClearness * found.clearness ? best : found;
}

/** The tip of a rail may look otherwise than the rest, as where light comes in from the open end, by this much of it. */
const longestTipMm = 9;
const shortestTipMm = 2.5;

/** The end of such a tip is not much less clear than where the tip begins. */
const tipClearness = 0.7;

/** Share of heads and of flanges, each, that must go on in a tip: a pin goes on too, but it is narrow and has no flange. */
const tipShare = 0.6;

/** The end of the tip, where the end found is only where the tip begins: of an end that looks away from the eye. */
function fartherOut(views: readonly RailPart[], found: ClearPlace, towards: 1 | -1, beyondMm: number): ClearPlace {
  const mostMm = Math.min(longestTipMm, 0.5 * beyondMm);
  const best = clearest(views, found.at, towards, beyondMm, towards, shortestTipMm, mostMm);
  if (!best || best.clearness < tipClearness * found.clearness) return found;
  const goesOn = (part: RailPart['part']): boolean => {
    const own = views.filter((v) => v.part === part);
    return own.length === 0 || unlikeBeyond(own, found.at, best.at, towards) > tipShare;
  };
  return goesOn('head') && goesOn('flange') ? best : found;
}

/** Share of the columns between two places along the rails that look unlike what is beyond the second. */
function unlikeBeyond(views: readonly RailPart[], from: number, to: number, towards: 1 | -1): number {
  let unlike = 0;
  let count = 0;
  for (const view of views) {
    const { strip } = view;
    const sums = columnSums(strip);
    const tip = rowsBetween(strip, sums, from + towards * 0.8, to - towards * 0.8, 2);
    const beyond = rowsBetween(strip, sums, to + towards * 1.2, to + towards * 5, 3);
    if (!tip || !beyond) continue;
    for (const k of view.columnsAt(Math.round(to / strip.stepMm))) {
      count++;
      if (Math.abs(rootLight(strip, sums, k, tip) - rootLight(strip, sums, k, beyond)) > unlikeRoot) unlike++;
    }
  }
  return count > 0 ? unlike / count : 0;
}

/** Root brightness that differs by more than grain and shade within a surface. */
const unlikeRoot = 0.1;

function refined(
  views: readonly RailPart[],
  rough: { at: number; clearness: number },
  towards: 1 | -1,
  beyondMm: number,
): SectionEnd | null {
  const candidates = views.map((view) => crossingsNear(view, rough.at, towards, beyondMm));
  const found = sideBySide(candidates, rough.at);
  if (found.length < 2) return null;
  const line = lineThrough(found);
  const railCount = Math.max(...views.map((v) => v.rail)) + 1;
  const rails = Array.from({ length: railCount }, (_, r) => {
    const own = found.filter(
      (f) => f.rail === r && Math.abs(f.at - line.at - line.slope * f.across) < 2.5 * line.scatter,
    );
    const weight = own.reduce((sum, f) => sum + f.weight, 0);
    return weight > 0 ? own.reduce((sum, f) => sum + f.weight * f.at, 0) / weight : null;
  });
  return { at: line.at, uMm: line.uMm, rails, clearness: rough.clearness };
}

/** The crossings, one a rail, that lie side by side with the most weight. */
function sideBySide(candidates: readonly (readonly Crossing[])[], near: number): Crossing[] {
  let best: { ends: Crossing[]; merit: number } = { ends: [], merit: 0 };
  for (const seed of candidates.flat()) {
    const meritOf = (c: Crossing): number => c.weight / (1 + ((c.at - seed.at) / usualScatterMm) ** 2);
    const ends = candidates.flatMap((own) => {
      const beside = own.filter((c) => Math.abs(c.at - seed.at) <= squareMm);
      return beside.length === 0 ? [] : [beside.reduce((a, b) => (meritOf(b) > meritOf(a) ? b : a))];
    });
    const merit = ends.reduce((sum, e) => sum + meritOf(e) - 0.01 * Math.abs(e.at - near), 0);
    if (merit > best.merit) best = { ends, merit };
  }
  return best.ends;
}

/** Least scatter of the ends about a straight across the track: what the model of an end leaves out, millimetres. */
const leastEndScatterMm = 0.12;

/** Sections are cut square: this much slope across the track is usual (half a degree), from memory of loose track. */
export const usualSkew = 0.01;

/** Weighted straight line through the ends over their sideways places; outliers count less (Cauchy weights). */
function lineThrough(found: readonly { across: number; at: number; weight: number }[]): {
  at: number;
  slope: number;
  scatter: number;
  uMm: number;
} {
  let at = weightedMedian(found);
  let slope = 0;
  let scatter = 0.5;
  let sum = 0;
  for (let pass = 0; pass < 8; pass++) {
    // A weak prior holds the end square where only one side of the track shows it.
    let [sw, sx, sxx, sy, sxy] = [0, 0, (leastEndScatterMm / usualSkew) ** 2, 0, 0];
    for (const f of found) {
      const r = f.at - at - slope * f.across;
      const w = f.weight / (1 + (r / (1.5 * scatter)) ** 2);
      sw += w;
      sx += w * f.across;
      sxx += w * f.across ** 2;
      sy += w * f.at;
      sxy += w * f.across * f.at;
    }
    const d = sw * sxx - sx * sx;
    at = (sxx * sy - sx * sxy) / d;
    slope = (sw * sxy - sx * sy) / d;
    sum = sw;
    scatter = Math.max(
      leastEndScatterMm,
      sigmaOfMiddle *
        weightedMedian(found.map((f) => ({ at: Math.abs(f.at - at - slope * f.across), weight: f.weight }))),
    );
  }
  return { at, slope, scatter, uMm: scatter / Math.sqrt(Math.max(0.5, sum)) };
}

function weightedMedian(found: readonly { at: number; weight: number }[]): number {
  const inOrder = [...found].sort((a, b) => a.at - b.at);
  let left = found.reduce((sum, f) => sum + f.weight, 0) / 2;
  for (const f of inOrder) {
    left -= f.weight;
    if (left <= 0) return f.at;
  }
  return inOrder[inOrder.length - 1].at;
}
