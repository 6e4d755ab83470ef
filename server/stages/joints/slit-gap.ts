import { photoFromTable } from '../../geometry/camera.js';
import { linearBrightnessAt } from '../../images/cross-profile.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outsideFaceOffsetMm } from '../../scene/track-profile.js';
import type { Estimate } from '../../units/estimate.js';
import { placeAt } from './rail-strips.js';
import type { SlitTrail } from './slit-trail.js';
import { type SlitView, slitStepMm } from './slit-views.js';
import { medianOf } from './strip-template.js';

/**
 * Width of a slit for each share by which it darkens the blurred rail, and what a table as bright as the rail adds: its
 * light fills the slit. A flange through which the bright table shines tells of more light in the heads' slit too.
 * Fitted to drawn photos with known gaps, 0.4–0.8 mm a pixel, each photo checked with the numbers of the others: the
 * measured gaps then scatter by 0.31 mm about the true ones, with a slope of 0.95.
 */
const widthForDark = 1.9;
const widthForDarkByTable = 0.6;
const widthForBright = 0.44;
const brightestTable = 1.5;
const brightestFlange = 0.6;

/** What the light of a place leaves unknown of every slit's width, and the least gap that is told. */
const lightUMm = 0.32;
const leastGapMm = 0.2;

/** A slit wider than this is an open gap. */
const widestGapMm = 3;

/**
 * Gap of the closed joint at a row, from how much it darkens the rails against both sides: it is narrower than the
 * picture can show. Heads or flanges tell it, whichever let less light through.
 * @param tableShare brightness of the table beside the track over that of the rail heads, linear light
 */
export function gapOfSlit(trails: readonly SlitTrail[], row: number, tableShare: number): Estimate {
  const head = shareOf(trails, 'head', row);
  const flange = shareOf(trails, 'flange', row);
  const dark = Math.max(0, head.share, flange.share);
  const bright = Math.max(0, Math.min(brightestFlange, -flange.share));
  const slope = widthForDark + widthForDarkByTable * Math.max(0, Math.min(brightestTable, tableShare));
  const value = Math.max(leastGapMm, Math.min(widestGapMm, slope * dark + widthForBright * bright));
  return { value, u: Math.hypot(lightUMm, slope * (head.share >= flange.share ? head : flange).u) };
}

/** Mean share of the light, linear, that a slit takes from one part of the rails. */
function shareOf(trails: readonly SlitTrail[], part: SlitTrail['part'], row: number): { share: number; u: number } {
  let share = 0;
  let variance = 0;
  let n = 0;
  for (const t of trails) {
    if (t.part !== part || !Number.isFinite(t.scatter[row])) continue;
    const most = Math.max(t.darkening[row - 1], t.darkening[row], t.darkening[row + 1]);
    share += 1 - (1 - most) ** 2;
    variance += (2 * (1 - most) * t.scatter[row]) ** 2;
    n++;
  }
  return n === 0 ? { share: 0, u: 0 } : { share: share / n, u: Math.sqrt(variance) / n };
}

/** Places beside the track and along it at which the table is looked at, millimetres. */
const besideMm = [10, 14, 18];
const alongMm = [-12, -8, -4, 0, 4, 8, 12];

/** Brightness of the table beside the track over that of the rail heads before and after a row; 1 where unseen. */
export function tableShareAt(
  { raster, camera, track, line }: RunInPhoto,
  s: number,
  views: readonly SlitView[],
  row: number,
): number {
  const p = placeAt(line, s);
  const [c, n] = [Math.cos(p.headingRad), Math.sin(p.headingRad)];
  const table: number[] = [];
  for (const beside of besideMm)
    for (const side of [-1, 1])
      for (const ahead of alongMm) {
        const aside = side * (outsideFaceOffsetMm(track) + beside);
        const at = photoFromTable(camera, p.x + ahead * c - aside * n, p.y + ahead * n + aside * c, 0);
        table.push(linearBrightnessAt(raster, at.x, at.y));
      }
  let head = 0;
  let count = 0;
  for (const { part, strip } of views) {
    if (part !== 'head') continue;
    for (let away = Math.round(3 / slitStepMm); away <= 8 / slitStepMm; away++)
      for (const i of [row - away, row + away])
        for (let k = 0; k < strip.columns && i >= 0 && i < strip.rows; k++) {
          const v = strip.data[i * strip.columns + k];
          if (Number.isNaN(v)) continue;
          head += v;
          count++;
        }
  }
  const share = (medianOf(table) * count) / head;
  return Number.isFinite(share) ? share : 1;
}
