import type { MeasuredSide } from '../scene/measured-layout.js';
import type { Arc } from '../scene/track-observation.js';
import { cornerS } from './layout-parts.js';

/** What the points of one edge have in common and the adjustment does not know: shade, grain, the tone curve. */
const edgeUMm = 0.1;
/** An end of a side that is no corner is where its last point was seen; points are about this far apart. */
const openEndUMm = 5;

type Place = readonly [number, number, number];

/**
 * Standard uncertainty of the length of a side, from corner to corner: from the joint covariance of its line and the
 * two lines that cross it (JCGM 100:2008, 5.2.2), which holds print scale and camera, plus what each edge adds.
 * @param covarianceOf of (x, y, heading) of two arcs of the adjustment, 3 × 3 row by row
 */
export function sideLengthU(
  sides: readonly MeasuredSide[],
  index: number,
  covarianceOf: (a: number, b: number) => readonly number[] | null,
): number {
  const side = sides[index];
  const used = [side];
  if (side.fromCorner) used.push(sides[(index + sides.length - 1) % sides.length]);
  if (side.toCorner) used.push(sides[(index + 1) % sides.length]);
  const length = (arcs: readonly Arc[]): number => {
    let k = 1;
    const from = side.fromCorner ? cornerS(arcs[0], arcs[k++], true, true) : side.fromS;
    const to = side.toCorner ? cornerS(arcs[0], arcs[k], false, true) : side.toS;
    return from === null || to === null ? Number.NaN : to - from;
  };
  const slopes = used.map((_, k) =>
    slopesOf(
      used.map((s) => s.arc),
      k,
      length,
    ),
  );
  let variance = 0;
  for (let i = 0; i < used.length; i++)
    for (let j = 0; j < used.length; j++) {
      const block = covarianceOf(used[i].arcIndex, used[j].arcIndex);
      if (!block) return Math.hypot(1, 1e-3 * (side.toS - side.fromS));
      for (let a = 0; a < 3; a++)
        for (let b = 0; b < 3; b++) variance += slopes[i][a] * block[3 * a + b] * slopes[j][b];
    }
  const ends = [side.fromCorner, side.toCorner].map((corner) => (corner ? edgeUMm : openEndUMm));
  return Math.hypot(Math.sqrt(Math.max(0, variance)), ...ends);
}

/** Derivatives of a length by x, y and heading of one of the arcs, by central differences. */
function slopesOf(arcs: readonly Arc[], k: number, length: (arcs: readonly Arc[]) => number): Place {
  const by = (name: 'x' | 'y' | 'headingRad', step: number): number => {
    const moved = (d: number): Arc[] => arcs.map((arc, i) => (i === k ? { ...arc, [name]: arc[name] + d } : arc));
    return (length(moved(step)) - length(moved(-step))) / (2 * step);
  };
  return [by('x', 0.01), by('y', 0.01), by('headingRad', 1e-5)];
}
