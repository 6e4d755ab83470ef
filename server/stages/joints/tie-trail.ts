import { cameraCentreInTable, photoFromTable } from '../../geometry/camera.js';
import { linearBrightnessAt } from '../../images/cross-profile.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outsideFaceOffsetMm } from '../../scene/track-profile.js';
import { placeAt } from './rail-strips.js';

/** Where the ends of ties show along a run. */
export interface TieTrail {
  readonly fromS: number;
  readonly stepMm: number;
  /** How much darker than the table beside it a row is, as a share of its root light; NaN where the photo does not show it. */
  readonly darker: Float32Array;
}

const stepMm = 2;

/** Where the ends of ties are looked at, past the outside face of the rails that the eye is nearer to, and the table beside them. */
const tieEndsMm = [5, 6, 7];
const besideMm = [11, 13, 15];
const tieTopMm = 3;

/** A view less slanting than this sees the ends on both sides. */
const uprightSlope = 0.08;

const leastLight = 0.1;

/**
 * Looks for the ends of ties along a run: dark places beside the rails, on the side that the rails do not hide.
 */
export function tieTrail({ raster, camera, track, line }: RunInPhoto, fromS: number, toS: number): TieTrail {
  const face = outsideFaceOffsetMm(track);
  const eye = cameraCentreInTable(camera.cameraFromTable);
  const rows = Math.max(0, Math.floor((toS - fromS) / stepMm) + 1);
  const darker = Float32Array.from({ length: rows }, (_, i) => {
    const p = placeAt(line, fromS + i * stepMm);
    const [c, n] = [Math.cos(p.headingRad), Math.sin(p.headingRad)];
    const left = (-(eye[0] - p.x) * n + (eye[1] - p.y) * c) / eye[2];
    const light = (places: readonly number[], side: number, z: number): number => {
      let sum = 0;
      for (const d of places) {
        const aside = side * (face + d);
        const q = photoFromTable(camera, p.x - aside * n, p.y + aside * c, z);
        sum += linearBrightnessAt(raster, q.x, q.y);
      }
      return Math.sqrt(Math.max(0, sum / places.length));
    };
    const sides = Math.abs(left) < uprightSlope ? [-1, 1] : [Math.sign(left)];
    let sum = 0;
    for (const side of sides) {
      const table = light(besideMm, side, 0);
      sum += (table - light(tieEndsMm, side, tieTopMm)) / Math.max(leastLight, table) / sides.length;
    }
    return sum;
  });
  return { fromS, stepMm, darker };
}

/** Ends of sections carry a tie this far from the joint, about: common practice, no source. */
const nearestTieMm = 18;
const farthestTieMm = 55;
const tieWidthMm = 12;
/** Looked at past the two ties next to a joint. */
const pastTieMm = 14;

/** Ties that scatter less about their mean than this share of the table's light do not show. */
const leastContrast = 0.06;

/** Places look like joints of one make from this likeness on, and so many of them together show how its ties lie. */
const alikeFrom = 0.5;
const leastAlike = 0.6;

/**
 * How much the ties about a place lie as they do about the joints of this run, −1…1; null where no ties show. Each make
 * of track has a tie at the same distance from every end of a section, and none between; the distance is the one with which
 * most of the places given look like joints.
 * @param places where joints may be
 */
export function tieLikeness(trail: TieTrail, places: readonly number[]): (s: number) => number | null {
  let best: { distanceMm: number; alike: number } | null = null;
  for (let distanceMm = nearestTieMm; distanceMm <= farthestTieMm; distanceMm += stepMm) {
    let alike = 0;
    for (const s of places) alike += Math.max(0, (likenessAt(trail, s, distanceMm) ?? 0) - alikeFrom);
    if (!best || alike > best.alike) best = { distanceMm, alike };
  }
  if (!best || best.alike < leastAlike) return () => null;
  const { distanceMm } = best;
  return (s) => likenessAt(trail, s, distanceMm);
}

/** Correlation of a stretch of the trail with two ties at a distance before and after a place; null where none show. */
function likenessAt({ fromS, stepMm: step, darker }: TieTrail, s: number, distanceMm: number): number | null {
  const reach = Math.round((distanceMm + pastTieMm) / step);
  const middle = Math.round((s - fromS) / step);
  let [n, sx, sy, sxx, sxy, syy] = [0, 0, 0, 0, 0, 0];
  for (let i = Math.max(0, middle - reach); i <= Math.min(darker.length - 1, middle + reach); i++) {
    const y = Math.max(-0.5, Math.min(1, darker[i]));
    if (Number.isNaN(y)) continue;
    const off = Math.abs(Math.abs(i - middle) * step - distanceMm) / (tieWidthMm / 2);
    const x = Math.max(0, Math.min(1, 1.5 - off));
    n++;
    sx += x;
    sy += y;
    sxx += x * x;
    sxy += x * y;
    syy += y * y;
  }
  if (n < reach) return null;
  const [vx, vy] = [sxx / n - (sx / n) ** 2, syy / n - (sy / n) ** 2];
  if (!(vx > 0) || vy < leastContrast ** 2) return null;
  return (sxy / n - (sx / n) * (sy / n)) / Math.sqrt(vx * vy);
}
