import type { Chain } from './chain.js';
import type { Layout, Part, Segment } from './layout-parts.js';
import { add, cross, distance, dot, leftOf, lengthOf, scale, subtract, turn, type Vec } from './plane-vectors.js';

/** The centre line of one run, table frame, millimetres; measured or planned. */
export interface TrackLine {
  readonly run: string;
  readonly closed: boolean;
  readonly strokes: readonly Stroke[];
}

export type Stroke =
  | { readonly kind: 'line'; readonly from: Vec; readonly to: Vec }
  | { readonly kind: 'arc'; readonly from: Vec; readonly centre: Vec; readonly sweepRad: number };

export type Arc = Extract<Stroke, { kind: 'arc' }>;

/** A place on the centre line and the way the track runs there. */
export interface TrackPlace {
  readonly at: Vec;
  readonly along: Vec;
}

/** How far the part behind `after` segments of run `chain` moves; nothing moves in the layout as measured. */
export type Movement = (chain: number, after: number) => Vec;

/** The centre lines of a layout whose parts have moved. */
export function trackLines(layout: Layout, movement: Movement): TrackLine[] {
  return layout.chains.map((chain, c) => ({
    run: chain.chain.run,
    closed: chain.chain.closed,
    strokes: chain.parts.flatMap((part) => strokesOf(part, (after) => movement(c, after))),
  }));
}

function strokesOf(part: Part, movement: (after: number) => Vec): Stroke[] {
  const moved = movement(part.after);
  if (part.kind === 'curve') {
    const { from, centre, sweepRad } = part.curve;
    return [{ kind: 'arc', from: add(from, moved), centre: add(centre, moved), sweepRad }];
  }
  if (part.kind === 'fixed') {
    const { stretch, pieces } = part.group;
    const from = add(stretch.ends[pieces[0]].from, moved);
    return [{ kind: 'line', from, to: add(stretch.ends[pieces[pieces.length - 1]].to, moved) }];
  }
  const { segment } = part;
  const end = add(segment.end, movement(part.after + 1));
  const points = [add(segment.start, moved), ...bowOf(segment, moved, end), end];
  return points.slice(1).flatMap((to, i) => lineBetween(points[i], to));
}

/**
 * Loose sections are a little askew, so a measured row is not quite straight: its joints keep their places beside the
 * line from end to end, as far as the planned row reaches.
 */
function bowOf(segment: Segment, moved: Vec, end: Vec): Vec[] {
  const { stretch } = segment;
  const joints = segment.pieces.flatMap((k) => [stretch.ends[k].from, stretch.ends[k].to]);
  const lengthMm = dot(subtract(end, add(segment.start, moved)), stretch.along);
  return joints.flatMap((joint) => {
    const offset = subtract(joint, segment.start);
    const alongMm = dot(offset, stretch.along);
    const besideMm = cross(stretch.along, offset);
    if (Math.abs(besideMm) < 0.02 || alongMm < 0 || alongMm > lengthMm) return [];
    return [add(joint, moved)];
  });
}

function lineBetween(from: Vec, to: Vec): Stroke[] {
  return lengthOf(subtract(to, from)) > 1e-9 ? [{ kind: 'line', from, to }] : [];
}

/** The centre lines as measured. */
export function measuredLines(chains: readonly Chain[]): TrackLine[] {
  return chains.map((chain) => ({
    run: chain.run,
    closed: chain.closed,
    strokes: chain.elements.flatMap((element): Stroke[] => {
      if (element.kind === 'curve') {
        return [{ kind: 'arc', from: element.from, centre: element.centre, sweepRad: element.sweepRad }];
      }
      const { ends, start, end, gaps } = element.stretch;
      if (ends.length === 0) return lineBetween(start, end);
      const points = ends.flatMap((e) => [e.from, e.to]);
      if (gaps[0].open) points.unshift(start);
      if (gaps[gaps.length - 1].open) points.push(end);
      return points.slice(1).flatMap((to, i) => lineBetween(points[i], to));
    }),
  }));
}

export function strokeLength(stroke: Stroke): number {
  if (stroke.kind === 'line') return lengthOf(subtract(stroke.to, stroke.from));
  return Math.abs(stroke.sweepRad) * lengthOf(subtract(stroke.from, stroke.centre));
}

/** The place at a share 0…1 of a stroke. */
export function placeOn(stroke: Stroke, share: number): TrackPlace {
  if (stroke.kind === 'line') {
    const whole = subtract(stroke.to, stroke.from);
    const length = lengthOf(whole);
    return { at: add(stroke.from, scale(whole, share)), along: length > 0 ? scale(whole, 1 / length) : [1, 0] };
  }
  const arm = turn(subtract(stroke.from, stroke.centre), stroke.sweepRad * share);
  return { at: add(stroke.centre, arm), along: scale(leftOf(arm), Math.sign(stroke.sweepRad) / lengthOf(arm)) };
}

export function strokeEnd(stroke: Stroke): Vec {
  return placeOn(stroke, 1).at;
}

/** Shares of an arc that lie in a direction from its centre, if it reaches there. */
export function sharesTowards(arc: Arc, towards: Vec): number[] {
  const arm = subtract(arc.from, arc.centre);
  const share = Math.atan2(cross(arm, towards), dot(arm, towards)) / arc.sweepRad;
  const around = (2 * Math.PI) / arc.sweepRad;
  return [share, share + around, share - around].filter((s) => s >= 0 && s <= 1);
}

/** Shares of an arc where it runs along `heading` or against it. */
export function sharesAlong(stroke: Stroke, heading: Vec): number[] {
  if (stroke.kind === 'line') return [];
  const square = leftOf(heading);
  return [square, scale(square, -1)].flatMap((towards) => sharesTowards(stroke, towards));
}

/** Share 0…1 of the place of a stroke that is nearest to a point. */
export function shareNearest(stroke: Stroke, point: Vec): number {
  if (stroke.kind === 'line') {
    const whole = subtract(stroke.to, stroke.from);
    const length2 = dot(whole, whole);
    return length2 === 0 ? 0 : clamp(dot(subtract(point, stroke.from), whole) / length2);
  }
  const [inside] = sharesTowards(stroke, subtract(point, stroke.centre));
  if (inside !== undefined) return inside;
  return distance(point, stroke.from) <= distance(point, strokeEnd(stroke)) ? 0 : 1;
}

/** The stroke moved as a whole; a line's far end may move by its own amount. */
export function moveStroke(stroke: Stroke, by: Vec, farEndBy: Vec = by): Stroke {
  if (stroke.kind === 'line') return { ...stroke, from: add(stroke.from, by), to: add(stroke.to, farEndBy) };
  return { ...stroke, from: add(stroke.from, by), centre: add(stroke.centre, by) };
}

function clamp(share: number): number {
  return Math.max(0, Math.min(1, share));
}
