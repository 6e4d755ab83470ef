import { alongStraight } from '../../server/contract/along-piece.js';
import type { Report } from '../../server/contract/report.js';
import type { PictureFrame } from './picture-frame.js';
import { crosses, overlap, type Rect, type Segment } from './place-labels.js';
import type { Pair } from './track-lines.js';
import type { Point } from './view.js';

/** Letters that name a line of the picture, and where they may stand, picture pixels. */
export interface NameWish {
  /** What a touch on it chooses; null: what lies there. */
  readonly thing: string | null;
  readonly text: string;
  /** What a screen reader says. */
  readonly spoken: string;
  /** Points of the line with the direction away from the table as a unit vector, best first. */
  readonly places: readonly { readonly at: Point; readonly out: Point }[];
}

/** A letter with its place: the middle of its disc, in the same pixels as it was placed in. */
export interface PlacedName {
  readonly wish: NameWish;
  readonly at: Point;
}

/** Radius of the disc behind a letter, and how far its middle stands off the line, screen pixels. */
export const nameRadiusPx = 11;
const nameOffPx = 13;

/** The names of the table sides that a picture shows: at the middle of each, or where it is in sight. */
export function sideNames(report: Report, frame: PictureFrame): NameWish[] {
  return report.table.sides
    .filter((side) => side.seen !== false)
    .flatMap((side): NameWish[] => {
      const along = alongStraight(side.from, side.to);
      const outwards = alongStraight(side.from, side.to, -1);
      const middle = (along.length - 1) / 2;
      const places = along
        .map((p, i) => ({ i, at: pointOn(frame, p), beyond: pointOn(frame, outwards[i]) }))
        .flatMap(({ i, at, beyond }) => {
          const far = at && beyond && Math.hypot(beyond.x - at.x, beyond.y - at.y);
          const seen = at && at.x >= 0 && at.y >= 0 && at.x <= frame.width && at.y <= frame.height;
          return seen && beyond && far
            ? [{ i, at, out: { x: (beyond.x - at.x) / far, y: (beyond.y - at.y) / far } }]
            : [];
        })
        .sort((a, b) => Math.abs(a.i - middle) - Math.abs(b.i - middle));
      const thing = `side:${side.name}`;
      return places.length > 0 ? [{ thing, text: side.name, spoken: `Table side ${side.name}`, places }] : [];
    });
}

function pointOn(frame: PictureFrame, [x, y]: Pair): Point | null {
  return frame.pictureFromTable(x, y, 0);
}

/**
 * Finds a place for each name: outside of the table, else pushed inwards as far as the picture's border asks; clear of
 * what must stay free and, where it can be, of the rails. As near to the first place as that allows.
 * @param at from picture pixels to the pixels in which `keepFree`, `lines` and `bounds` are
 */
export function placeNames(
  names: readonly NameWish[],
  at: (p: Point) => Point,
  keepFree: readonly Rect[],
  lines: readonly Segment[],
  bounds: Rect,
): PlacedName[] {
  const placed: PlacedName[] = [];
  for (const wish of names) {
    const spots = wish.places.map(({ at: p, out }) => {
      const line = at(p);
      return {
        x: clamp(line.x + nameOffPx * out.x, bounds.left + nameRadiusPx, bounds.right - nameRadiusPx),
        y: clamp(line.y + nameOffPx * out.y, bounds.top + nameRadiusPx, bounds.bottom - nameRadiusPx),
      };
    });
    const taken = [...keepFree, ...placed.map((p) => discBox(p.at))];
    const free = spots.filter((p) => !taken.some((box) => overlap(box, discBox(p))));
    const best = free.find((p) => !lines.some((line) => crosses(line, discBox(p)))) ?? free[0] ?? spots[0];
    placed.push({ wish, at: best });
  }
  return placed;
}

/** The upright square around a name's disc. */
export function discBox({ x, y }: Point): Rect {
  return { left: x - nameRadiusPx, right: x + nameRadiusPx, top: y - nameRadiusPx, bottom: y + nameRadiusPx };
}

function clamp(value: number, least: number, most: number): number {
  return Math.max(least, Math.min(most, value));
}
