import type { Point, Size } from './view.js';

/** A label that wants a place: where it belongs, how large it is, in screen pixels. */
export interface LabelBox extends Size {
  readonly id: string;
  readonly anchor: Point;
  /** Where alone this label may lie, beside the bounds of all: what is in sight. */
  readonly within?: Rect;
}

/** A straight part of a line that labels should rather not cover. */
export type Segment = readonly [Point, Point];

export interface Rect {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

export interface PlacedLabel {
  readonly id: string;
  readonly box: Rect;
  readonly anchor: Point;
}

/** Free room between labels, and between a label and what it must not cover, screen pixels. */
const roomPx = 3;
/** Distances from the anchor at which a label is tried, screen pixels. A long leader is harder to follow than no label. */
const reaches = [10, 22, 38, 60, 90];
/** Covering a rail is as bad as lying this much farther away, screen pixels. */
const coveredLineCost = 18;
const directions = Array.from({ length: 16 }, (_, i) => (i * Math.PI) / 8);

/**
 * Finds places for labels, in the order given: none covers another, none covers what must stay free, none leaves the
 * bounds. Near its anchor and off the lines is better. A label without a place is left out; looking in gives it room.
 * Cost: labels × 80 × (labels + obstacles).
 * @param keepFree what no label may cover, such as the gaps
 * @param lines what labels should rather not cover, such as the rails
 */
export function placeLabels(
  labels: readonly LabelBox[],
  keepFree: readonly Rect[],
  lines: readonly Segment[],
  bounds: Rect,
): PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  for (const label of labels) {
    const taken = [...keepFree, ...placed.map((p) => p.box)];
    const near = lines.filter((line) => overlap(boxAround(line), around(label)));
    let best: { box: Rect; cost: number } | null = null;
    for (const reach of reaches) {
      if (best && best.cost <= reach) break;
      for (const direction of directions) {
        const box = boxAt(label, reach, direction);
        if (
          !within(box, bounds) ||
          (label.within && !within(box, label.within)) ||
          taken.some((other) => overlap(box, other, roomPx))
        )
          continue;
        const crossed = near.reduce((n, line) => n + (crosses(line, box) ? 1 : 0), 0);
        const cost = reach + coveredLineCost * Math.min(4, crossed);
        if (!best || cost < best.cost) best = { box, cost };
      }
    }
    if (best) placed.push({ id: label.id, box: best.box, anchor: label.anchor });
  }
  return placed;
}

/** The smallest upright box around points. */
export function boxAround(points: readonly Point[]): Rect {
  return {
    left: Math.min(...points.map((p) => p.x)),
    top: Math.min(...points.map((p) => p.y)),
    right: Math.max(...points.map((p) => p.x)),
    bottom: Math.max(...points.map((p) => p.y)),
  };
}

/** True when two boxes come nearer than `room`. */
export function overlap(a: Rect, b: Rect, room = 0): boolean {
  return a.left < b.right + room && b.left < a.right + room && a.top < b.bottom + room && b.top < a.bottom + room;
}

/** The leader's end on the label: its point nearest to the anchor. */
export function leaderEnd(placed: PlacedLabel): Point {
  const { box, anchor } = placed;
  return {
    x: Math.min(Math.max(anchor.x, box.left), box.right),
    y: Math.min(Math.max(anchor.y, box.top), box.bottom),
  };
}

/** The box whose nearest side is `reach` from the anchor, seen in that direction. */
function boxAt(label: LabelBox, reach: number, direction: number): Rect {
  const x = label.anchor.x + Math.cos(direction) * (reach + label.width / 2);
  const y = label.anchor.y + Math.sin(direction) * (reach + label.height / 2);
  return {
    left: x - label.width / 2,
    top: y - label.height / 2,
    right: x + label.width / 2,
    bottom: y + label.height / 2,
  };
}

function within(box: Rect, bounds: Rect): boolean {
  return box.left >= bounds.left && box.right <= bounds.right && box.top >= bounds.top && box.bottom <= bounds.bottom;
}

/** All places where a label may come to lie. */
function around(label: LabelBox): Rect {
  const [x, y] = [reaches[reaches.length - 1] + label.width, reaches[reaches.length - 1] + label.height];
  const { anchor } = label;
  return { left: anchor.x - x, right: anchor.x + x, top: anchor.y - y, bottom: anchor.y + y };
}

/** Whether a segment runs through a box: clipped to it, something is left (Liang and Barsky 1984). */
export function crosses([a, b]: Segment, box: Rect): boolean {
  let from = 0;
  let to = 1;
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  for (const [step, room] of [
    [-dx, a.x - box.left],
    [dx, box.right - a.x],
    [-dy, a.y - box.top],
    [dy, box.bottom - a.y],
  ]) {
    if (step === 0) {
      if (room < 0) return false;
    } else if (step < 0) from = Math.max(from, room / step);
    else to = Math.min(to, room / step);
  }
  return from <= to;
}
