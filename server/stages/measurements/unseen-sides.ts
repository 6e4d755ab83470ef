import type { MeasuredLayout } from '../../scene/measured-layout.js';
import { isTableShown } from './seen-at.js';

/** How far apart places are looked at on the way to a side that may lie outside all photos, millimetres. */
const stepMm = 25;

/**
 * Whether a side of the table that no photo shows is likely to lie nearer to a place of the table than so many millimetres:
 * what the photos show ends at half as much.
 */
export type SideMayLie = (x: number, y: number, withinMm: number) => boolean;

/** Shown table of such a share of the way to the nearest side known makes it likely that this is the nearest one. */
const shownShare = 0.5;

/**
 * A table has four sides, a quarter turn apart. In the direction of one that was not found it may begin where no photo
 * shows anything any more: what is nearest of those that were found is not the nearest side then.
 */
export function sidesNotSeen(layout: MeasuredLayout): SideMayLie {
  const { sides } = layout;
  if (sides.length === 0 || sides.length >= 4) return () => false;
  const outwards = sides.map(({ arc }) => arc.headingRad - Math.PI / 2);
  const missing = [1, 2, 3]
    .map((quarter) => outwards[0] + (quarter * Math.PI) / 2)
    .filter((outRad) => outwards.every((known) => Math.cos(known - outRad) < Math.SQRT1_2))
    .map((outRad) => [Math.cos(outRad), Math.sin(outRad)] as const);
  return (x, y, withinMm) =>
    missing.some(([c, s]) => {
      for (let far = stepMm; far < shownShare * withinMm; far += stepMm)
        if (!isTableShown(layout, x + far * c, y + far * s)) return true;
      return false;
    });
}
