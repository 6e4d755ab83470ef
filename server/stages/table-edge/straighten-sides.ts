import type { Camera } from '../../geometry/camera.js';
import { undistort } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';
import { alongMm, type EdgeCurve, type EdgePlace, placesOn } from './edge-places.js';
import { emptyProfile, profileLikeness, profileStepPx, sampleProfile, stepHeights } from './edge-profile.js';
import type { FinishLook } from './finish-model.js';
import { evaluatePolynomial, fitPolynomial } from './polynomial.js';
import type { LineProjector } from './table-lines.js';
import type { TrackDistance } from './track-zone.js';

const spacingPx = 16;
const reachPx = 18;
/** How far off the coarse curve of a side may lie that shows no edge along the straight line through it. */
const wideReachPx = 54;
/** A line found there, aslant, may be looked about again: so many times at most. */
const mostWideLooks = 3;
/** Mean strength of the steps on a side's line below which it lies on no edge; those that lie on one have 0.3 and more. */
const leastSupport = 0.2;
/** So many times as strong, on a line farther off, they lie on the edge there: track may cover most of a side. */
const muchMore = 1.5;
const bandPx = 3;
/** Beside the track the finish lies in its shade, and is so many times as dark, as coded (common practice, no source). */
const shadeMm = 20;
const shades = [1.2, 1.45, 1.75];

/** A step near a side's coarse curve. */
interface Step {
  /** Shift from the side's table line, photo pixels outwards. */
  readonly shiftPx: number;
  readonly strength: number;
}

/** A place along a side: its steps, and how its shift follows from what is sought. */
interface Block {
  readonly along: number;
  readonly coarsePx: number;
  readonly steps: readonly Step[];
  /** Derivatives of the shift by rho (mm), theta (per alongMm), k1, k2. */
  readonly byRho: number;
  readonly byTheta: number;
  readonly byK1: number;
  readonly byK2: number;
}

/** How far k1 and k2 of a phone's lens may be from the guess (common practice, no source). */
const k1Sigma = 0.05;
const k2Sigma = 0.03;
/** Steps count within this of the curve, pixels; it shrinks from round to round. */
const windowsPx = [14, 11, 9, 7, 5.5, 4.5, 3.5, 3, 2.5, 2, 2, 2];

/**
 * Makes the sides straight together: each is a straight line at z = 0 seen through one and the same lens, of which k1
 * and k2 are not known well. Six to ten numbers for the whole outline leave no freedom to follow a shadow or a plank
 * for a part of a side.
 */
export function straightenSides(
  raster: Raster,
  camera: Camera,
  projector: LineProjector,
  finish: FinishLook,
  track: TrackDistance,
  curves: readonly EdgeCurve[],
): EdgeCurve[] {
  const sides: Block[][] = curves.map((curve) => blocksOf(raster, camera, projector, finish, track, curve));
  const n = 2 + 2 * curves.length;
  let unknown: Float64Array = new Float64Array(n);
  const shiftAt = (b: Block, side: number): number =>
    unknown[0] * b.byK1 + unknown[1] * b.byK2 + unknown[2 + 2 * side] * b.byRho + unknown[3 + 2 * side] * b.byTheta;
  const solve = (aimOf: (b: Block, side: number) => { shift: number; weight: number } | null): boolean => {
    const matrix = new Float64Array(n * n);
    const right = new Float64Array(n);
    matrix[0] += 1 / k1Sigma ** 2;
    matrix[n + 1] += 1 / k2Sigma ** 2;
    for (let k = 2; k < n; k++) matrix[k * n + k] += 1e-6;
    sides.forEach((blocks, side) => {
      for (const b of blocks) {
        const aim = aimOf(b, side);
        if (!aim) continue;
        const index = [0, 1, 2 + 2 * side, 3 + 2 * side];
        const derivative = [b.byK1, b.byK2, b.byRho, b.byTheta];
        for (let i = 0; i < 4; i++) {
          right[index[i]] += aim.weight * derivative[i] * aim.shift;
          for (let j = 0; j < 4; j++)
            if (index[j] <= index[i]) matrix[index[i] * n + index[j]] += aim.weight * derivative[i] * derivative[j];
        }
      }
    });
    if (!choleskyInPlace(matrix, n)) return false;
    unknown = choleskySolve(matrix, n, right);
    return true;
  };
  if (!solve((b) => ({ shift: b.coarsePx, weight: 0.05 }))) return [...curves];
  for (const windowPx of windowsPx) if (!solve((b, side) => nearest(b, shiftAt(b, side), windowPx))) return [...curves];
  /** Moves all sides to the tilts given, and settles them there. */
  const settleAt = (tilts: readonly (readonly number[])[]): boolean => {
    const aims = sides.map((blocks, side) =>
      blocks.map((b) => nearest(b, shiftAt(b, side) + evaluatePolynomial(tilts[side], b.along), 1.5)),
    );
    if (!solve((b, side) => aims[side][sides[side].indexOf(b)])) return false;
    for (let k = 0; k < 3; k++) if (!solve((b, side) => nearest(b, shiftAt(b, side), 1.5))) return false;
    return true;
  };
  const straightened = (curve: EdgeCurve, side: number): EdgeCurve => {
    const blocks = sides[side];
    if (blocks.length < 2) return curve;
    const fitted = fitPolynomial(
      blocks.map((b) => b.along),
      blocks.map((b) => shiftAt(b, side)),
      blocks.map(() => 1),
      Math.min(5, blocks.length - 2),
    );
    return fitted ? { ...curve, shiftPx: fitted } : curve;
  };
  for (let round = 0; round < 2; round++)
    if (!settleAt(sides.map((blocks, side) => sharpestTilt(blocks, (b) => shiftAt(b, side))))) return [...curves];
  /** Mean strength of the steps that lie on a side's line. */
  const supportOf = (side: number): number => {
    const weights = sides[side].map((b) => nearest(b, shiftAt(b, side), 1.5)?.weight ?? 0);
    return weights.reduce((sum, w) => sum + w, 0) / Math.max(1, weights.length);
  };
  // Part of a coarse curve may have followed something else, farther off than the steps looked at.
  curves.forEach((curve, side) => {
    for (let look = 0; look < mostWideLooks; look++) {
      const support = supportOf(side);
      if (support >= leastSupport) return;
      const [before, settled] = [sides[side], unknown];
      sides[side] = blocksOf(raster, camera, projector, finish, track, straightened(curve, side), wideReachPx);
      const tilts = sides.map((blocks, other) =>
        other === side ? sharpestTilt(blocks, (b) => shiftAt(b, other), wideSearch) : [0],
      );
      if (settleAt(tilts) && supportOf(side) >= Math.min(leastSupport, muchMore * support)) continue;
      sides[side] = before;
      unknown = settled;
      return;
    }
  });
  return curves.map(straightened);
}

/** How far the ends of a side are moved in search of the edge, pixels, and in what steps. */
interface TiltSearch {
  readonly reachPx: number;
  readonly stepPx: number;
}
const closeSearch: TiltSearch = { reachPx: 5, stepPx: 0.5 };
const wideSearch: TiltSearch = { reachPx: 45, stepPx: 0.75 };

/**
 * The small shift and tilt of a side (a polynomial of s/alongMm) at which most of its blocks have a step right on the
 * curve. Least squares settles between an edge and a shadow that crosses it at a flat angle; this does not.
 */
function sharpestTilt(
  blocks: readonly Block[],
  shiftOf: (b: Block) => number,
  { reachPx, stepPx }: TiltSearch = closeSearch,
): number[] {
  if (blocks.length < 4) return [0];
  const first = blocks[0].along;
  const span = blocks[blocks.length - 1].along - first;
  const u: number[] = [];
  const at: number[] = [];
  const strength: number[] = [];
  blocks.forEach((b) => {
    const shift = shiftOf(b);
    for (const s of b.steps) {
      if (Math.abs(s.shiftPx - shift) > reachPx + 2) continue;
      u.push((b.along - first) / span);
      at.push(s.shiftPx - shift);
      strength.push(s.strength);
    }
  });
  let best = -1;
  let ends = [0, 0];
  for (let e0 = -reachPx; e0 <= reachPx; e0 += stepPx)
    for (let e1 = -reachPx; e1 <= reachPx; e1 += stepPx) {
      let score = 0;
      for (let i = 0; i < u.length; i++) {
        const d = 2 * (at[i] - e0 - u[i] * (e1 - e0));
        const d2 = d * d;
        score += strength[i] / (1 + d2 * d2);
      }
      // Of two that are alike, the one that moves less.
      score *= 1 - 0.002 * (Math.abs(e0) + Math.abs(e1));
      if (score > best) {
        best = score;
        ends = [e0, e1];
      }
    }
  const slope = (ends[1] - ends[0]) / span;
  return [ends[0] - slope * first, slope];
}

/** The step that pulls most: strong and near. */
function nearest(b: Block, shiftPx: number, windowPx: number): { shift: number; weight: number } | null {
  let best = 0;
  let shift = 0;
  for (const step of b.steps) {
    const u = (step.shiftPx - shiftPx) / windowPx;
    if (Math.abs(u) >= 1) continue;
    const weight = step.strength * (1 - u * u) ** 2;
    if (weight > best) {
      best = weight;
      shift = step.shiftPx;
    }
  }
  return best > 0.02 ? { shift, weight: best } : null;
}

function blocksOf(
  raster: Raster,
  camera: Camera,
  projector: LineProjector,
  finish: FinishLook,
  track: TrackDistance,
  curve: EdgeCurve,
  reach = reachPx,
): Block[] {
  const profile = emptyProfile(reach);
  return placesOn(projector, curve, spacingPx, 6).map((place) => {
    const coarsePx = evaluatePolynomial(curve.shiftPx, place.along);
    sampleProfile(raster, place.x, place.y, place.nx, place.ny, 10, profile);
    const heights = stepHeights(profile, finish, bandPx);
    const steps: Step[] = [];
    for (let i = 1; i < profile.count - 1; i++) {
      if (heights[i] < 1 || heights[i] < heights[i - 1] || heights[i] <= heights[i + 1]) continue;
      const at = i * profileStepPx - reach;
      // What is just inside: the track (then this is the track's own outline), its shade, or bare table top.
      const toTrackMm = track(place.x + (at - 1.2) * place.nx, place.y + (at - 1.2) * place.ny);
      const looks = profileLikeness(profile, finish, at - 4, at - 1.5);
      const shaded = (times: number): number => profileLikeness(profile, finish, at - 4, at - 1.5, times);
      const inside = toTrackMm < 0 ? 0 : toTrackMm < shadeMm ? Math.max(looks, ...shades.map(shaded)) : looks;
      const h = heights[i] ** 2;
      steps.push({ shiftPx: coarsePx + at, strength: (h / (h + 16)) * (toTrackMm < 0 ? 0.02 : 0.2 + 0.8 * inside) });
    }
    return { along: place.along, coarsePx, steps, ...derivatives(camera, projector, curve, place) };
  });
}

function derivatives(
  camera: Camera,
  projector: LineProjector,
  curve: EdgeCurve,
  place: EdgePlace,
): Pick<Block, 'byRho' | 'byTheta' | 'byK1' | 'byK2'> {
  const { lens } = camera;
  const s = place.along * alongMm;
  const a = projector.project(curve.line, s, -1);
  const b = projector.project(curve.line, s, 1);
  const byRho = a && b ? ((b.x - a.x) * place.nx + (b.y - a.y) * place.ny) / 2 : 0;
  const [u, v] = undistort(lens, (place.x - lens.cx) / lens.fx, (place.y - lens.cy) / lens.fy);
  const r2 = u * u + v * v;
  const radial = lens.fx * u * place.nx + lens.fy * v * place.ny;
  return { byRho, byTheta: -place.along * byRho, byK1: radial * r2, byK2: radial * r2 * r2 };
}
