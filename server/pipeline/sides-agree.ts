import { quadraticForm } from '../linalg/quadratic-form.js';
import { type Arc, alongArc, pointOnArc } from '../scene/track-observation.js';
import { alongSide, type SideArc, type TableAdjustment } from './adjust-table.js';
import { arcCovarianceOf } from './covariances.js';

/** One edge of a table lies in two photos within this, whatever blur, grain and tone curve do, or within so many times its uncertainty. */
const sameEdgeMm = 1;
const sameEdgeU = 4;

/** A side that photos show in different places. */
export interface DifferingSide {
  /** Its place among the sides. */
  readonly side: number;
  /** Photos whose edge was taken for it, and those whose was left out. */
  readonly kept: readonly number[];
  readonly leftOut: readonly number[];
  /** How far what was left out lies from what was taken, where that is most, millimetres. */
  readonly apartMm: number;
  /** Why it was taken: a person drew it, most photos agree on it, or it is the surer one. */
  readonly keptFor: 'drawn' | 'most' | 'surer';
}

/**
 * Leaves out, of each side that several photos show, what does not agree with the rest. One of them has taken something
 * else for the edge (a line along it, the side face, a joint of the floor), and cameras that are to make one straight of
 * both would bend. Of three and more most are right; of two, the one that is surer of it.
 * @param solveApart solves for everything with the sides given, each seen in one photo alone
 */
export function sidesThatAgree(
  sides: readonly SideArc[],
  solveApart: (apart: SideArc[]) => TableAdjustment,
): { readonly sides: SideArc[]; readonly differing: readonly DifferingSide[] } {
  const shared = sides.filter((side) => side.seen.length > 1);
  if (shared.length === 0) return { sides: [...sides], differing: [] };
  const apart = sides.flatMap((side) => side.seen.map((seen) => ({ arc: arcOf(seen.side), seen: [seen] })));
  const { output, firstSide } = solveApart(apart);
  const { state } = output;
  const covarianceOf = arcCovarianceOf(output);
  const lines = apart.map(({ arc, seen: [{ photo, side }] }, i): SideLine => {
    const places = side.points.map((p) => alongSide(arc, state, photo, p.px, p.py));
    return { index: firstSide + i, arc: state.arcs[firstSide + i], from: Math.min(...places), to: Math.max(...places) };
  });
  const differing: DifferingSide[] = [];
  let next = 0;
  const agreed = sides.map((side, index) => {
    const own = side.seen.map((_, k) => lines[next + k]);
    next += side.seen.length;
    const agree = own.map((a) => own.map((b) => a === b || isOne(a, b, covarianceOf)));
    if (agree.every((row) => row.every((same) => same))) return side;
    const votes = (k: number): number => agree[k].filter((same) => same).length;
    // What a person drew comes first, and counts whatever the photos say.
    const drawn = side.place !== undefined;
    const order = [...own.keys()].sort((a, b) => votes(b) - votes(a) || trust(side, b) - trust(side, a));
    const best = drawn ? 0 : order[0];
    const kept = [...own.keys()].filter((k) => agree[best][k]);
    const out = [...own.keys()].filter((k) => !agree[best][k]);
    const apartMm = Math.max(...out.map((k) => mostApartMm(own[best], own[k])));
    differing.push({
      side: index,
      kept: kept.map((k) => side.seen[k].photo),
      leftOut: out.map((k) => side.seen[k].photo),
      apartMm,
      keptFor: drawn ? 'drawn' : kept.length > out.length ? 'most' : 'surer',
    });
    return { ...side, arc: state.arcs[own[best].index], seen: kept.map((k) => side.seen[k]) };
  });
  return { sides: agreed, differing };
}

/** Standard uncertainty of where each side lies besides what the adjustment says, millimetres: what photos that differ leave open. */
export function doubtsOf(sides: readonly SideArc[], differing: readonly DifferingSide[]): number[] {
  return sides.map((_, i) => {
    const other = differing.find(({ side, keptFor }) => side === i && keptFor === 'surer');
    return (other?.apartMm ?? 0) / 2;
  });
}

/** A side of one photo in the table, and from where to where along its arc it is seen. */
interface SideLine {
  /** Its place among the arcs of the adjustment. */
  readonly index: number;
  readonly arc: Arc;
  readonly from: number;
  readonly to: number;
}

function arcOf({ lineInTable: { through, direction } }: SideArc['seen'][number]['side']): Arc {
  const headingRad = Math.atan2(direction[1], direction[0]);
  return { x: through.x, y: through.y, headingRad, curvaturePerMm: 0, halfLengthMm: 0 };
}

/** How much one of the photos is to be believed about a side. */
function trust({ seen }: SideArc, k: number): number {
  const { side } = seen[k];
  return side.certainty * side.seenRatio;
}

/** Places along the first line at which two are compared: the ends of what both show, or where they come nearest. */
function comparedAt(a: SideLine, b: SideLine): readonly [number, number] {
  const ends = [b.from, b.to].map((s) => {
    const p = pointOnArc(b.arc, s);
    return alongArc(a.arc, p.x, p.y);
  });
  const from = Math.max(a.from, Math.min(...ends));
  const to = Math.min(a.to, Math.max(...ends));
  return from <= to ? [from, to] : [(from + to) / 2, (from + to) / 2];
}

/** How far the second line lies aside of the first, at a place along the first, and how sure that is. */
function asideAt(
  a: SideLine,
  b: SideLine,
  s: number,
  covarianceOf?: (i: number, j: number) => readonly number[] | null,
): { readonly mm: number; readonly uMm: number } {
  const p = pointOnArc(a.arc, s);
  const t = alongArc(b.arc, p.x, p.y);
  const q = pointOnArc(b.arc, t);
  const [nx, ny] = [-Math.sin(a.arc.headingRad), Math.cos(a.arc.headingRad)];
  const mm = (q.x - p.x) * nx + (q.y - p.y) * ny;
  const [ja, jb] = [
    [nx, ny, s],
    [nx, ny, t],
  ];
  const covariance = (i: SideLine, ji: readonly number[], j: SideLine, jj: readonly number[]): number => {
    const c = covarianceOf?.(i.index, j.index);
    return c ? quadraticForm(ji, c, jj) : 0;
  };
  const variance = covariance(a, ja, a, ja) + covariance(b, jb, b, jb) - 2 * covariance(a, ja, b, jb);
  return { mm, uMm: Math.sqrt(Math.max(0, variance)) };
}

function isOne(a: SideLine, b: SideLine, covarianceOf: (i: number, j: number) => readonly number[] | null): boolean {
  return comparedAt(a, b).every((s) => {
    const { mm, uMm } = asideAt(a, b, s, covarianceOf);
    return Math.abs(mm) <= Math.max(sameEdgeMm, sameEdgeU * uMm);
  });
}

function mostApartMm(a: SideLine, b: SideLine): number {
  return Math.max(...comparedAt(a, b).map((s) => Math.abs(asideAt(a, b, s).mm)));
}
