import { photoFromTable } from '../../geometry/camera.js';
import { linearBrightnessAt } from '../../images/cross-profile.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outsideFaceOffsetMm } from '../../scene/track-profile.js';
import type { Estimate } from '../../units/estimate.js';
import { placeAt } from './rail-strips.js';
import { type SlitView, slitStepMm } from './slit-views.js';
import { medianOf } from './strip-template.js';

/**
 * A slit takes the light of a dark strip as wide as itself, however the picture blurs it; not all of it, as some light is
 * seen in it. Heads let more through than flanges: a bright pin lies in them, the more so the more of the head it fills. The
 * eye that looks straight down into a slit sees the table, and the pin's top that the same light falls on; from aslant it
 * sees the dark end face of the rail behind. Fitted to 1339 slits in 113 drawn photos, 0.4–0.9 mm a pixel, gaps of less than
 * 0.7 mm counting less; each photo checked with the numbers of others, half of the gaps of 0.7 mm and more are within
 * 0.13 mm and 95 % within 0.49 mm.
 */
const widthForHeadLight = 1.365;
const widthForPinShare = 2;
const usualPinShare = 0.5;
const widthForFlangeLight = 1.18;
const widthForTableBelow = 0.76;
const lessLightMm = -0.085;
const brightestTable = 1.5;

/**
 * A slit between flanges that is brighter than they are shows the lit table: the more light, up to that of a millimetre, the
 * wider it is, and the less the heads tell of it, into whose slits the same light falls. Fitted with the above.
 */
const widthForFlangeGlow = 0.11;
const mostGlowMm = 1;

/** Run of the view along the rails for each millimetre of height at which a slit hides most of what is below it. */
const slantMm = 0.3;

/** What the light of a place leaves unknown of every slit's width, and of the width as a share; the least gap that is told. */
const lightUMm = 0.2;
const lightUShare = 0.1;
const leastGapMm = 0.2;

/** Closed joints of loose track gape by up to 2 mm, each width as often as another: common practice, no source. */
const usualGapMm: Estimate = { value: 1, u: 0.6 };

/** Light of which nothing is seen is taken for none, but this uncertain. */
const unseenUMm = 0.7;

/** A slit wider than this is an open gap. */
const widestGapMm = 3;

/**
 * Gap of the closed joint at a row, from the light that is missing there against both sides: it is narrower than the
 * picture can show. Heads or flanges tell it, whichever surely let less light through.
 * @param tableShare brightness of the table beside the track over that of the rail heads, linear light
 * @param pinShare width of a track pin over that of the rail head
 */
export function gapOfSlit(views: readonly SlitView[], row: number, tableShare: number, pinShare: number): Estimate {
  const head = missingOf(views, 'head', row);
  const flange = missingOf(views, 'flange', row);
  const isFlange = surely(flange) > surely(head);
  const { mm, u, darkest } = isFlange ? flange : head;
  const table = Math.max(0, Math.min(brightestTable, tableShare));
  const below = Math.exp(-Math.abs(views[0].slopesAt(row).along) / slantMm);
  const pins = widthForPinShare * (pinShare - usualPinShare);
  const own = isFlange ? widthForFlangeLight : Math.max(1, widthForHeadLight + pins);
  const widthRatio = own + widthForTableBelow * table * below;
  // Wherever a slit is, it takes at least the share of the light that its darkest rows lack.
  const glow = widthForFlangeGlow * Math.max(0, Math.min(mostGlowMm, -flange.mm));
  const toldMm = Math.min(lessLightMm + widthRatio * mm, mm / Math.max(darkest, leastDarkest)) + glow;
  // Where the rails differ, as spots of rust make them, the gap is more likely a usual one than what their mean says.
  const trust = usualGapMm.u ** 2 / (usualGapMm.u ** 2 + (widthRatio * u) ** 2);
  const likelyMm = usualGapMm.value + trust * (toldMm - usualGapMm.value);
  const value = Math.max(leastGapMm, Math.min(widestGapMm, likelyMm));
  return { value, u: Math.hypot(lightUMm, lightUShare * value, Math.sqrt(trust) * widthRatio * u) };
}

/** Width of the missing light of a part, as told by one that may be wrong. */
const surely = ({ mm, u }: MissingLight): number => mm - 0.5 * u;

/** Light that is missing of one part of the rails, as the width of a strip without light. */
interface MissingLight {
  readonly mm: number;
  readonly u: number;
  /** Share of the light that the darkest rows lack. */
  readonly darkest: number;
}

/** Shares less than this say nothing of how wide a slit is. */
const leastDarkest = 0.05;

/** Rows beside a slit that tell how bright the rail is there, millimetres from its middle. */
const besideFromMm = 2;
const besideToMm = 5;

/** A part's own slit may lie this far from where all parts together show one; its light is missing as far to each side. */
const ownPlaceMm = 1.25;
const halfSlitMm = 1.25;

/** Width of a strip without light that would take from one part of the rails what is missing of theirs, their mean. */
function missingOf(views: readonly SlitView[], part: SlitView['part'], row: number): MissingLight {
  const shares = views
    .flatMap((view) => (view.part === part ? [missingShares(view, row)] : []))
    .filter((s) => s !== null);
  if (shares.length === 0) return { mm: 0, u: unseenUMm, darkest: 0 };
  const reach = Math.round(ownPlaceMm / slitStepMm);
  const half = Math.round(halfSlitMm / slitStepMm);
  const middle = reach + half;
  const sumAt = (from: number, to: number, of: Float64Array): number => {
    let sum = 0;
    for (let i = from; i <= to; i++) sum += of[i];
    return sum;
  };
  let at = middle;
  let darkest = Number.NEGATIVE_INFINITY;
  for (let i = middle - reach; i <= middle + reach; i++) {
    const dark = shares.reduce((sum, s) => sum + sumAt(i - 1, i + 1, s), 0);
    if (dark <= darkest) continue;
    at = i;
    darkest = dark;
  }
  const widths = shares.map((s) => sumAt(at - half, at + half, s) * slitStepMm);
  const mm = widths.reduce((a, b) => a + b, 0) / widths.length;
  const variance = widths.reduce((sum, w) => sum + (w - mm) ** 2, 0) / Math.max(1, widths.length - 1);
  return { mm, u: Math.sqrt(variance / widths.length), darkest: darkest / 3 / shares.length };
}

/**
 * Share of the light of a view, linear, that is missing at the rows about one, against the rows on both sides; null where
 * the photo does not show it all.
 */
function missingShares(view: SlitView, row: number): Float64Array | null {
  const { data, rows, columns: width } = view.strip;
  const columns = view.columnsAt(row);
  const far = Math.round(besideToMm / slitStepMm);
  if (columns.length === 0 || row - far < 1 || row + far > rows - 2) return null;
  const reach = Math.round((ownPlaceMm + halfSlitMm) / slitStepMm);
  const near = Math.round(besideFromMm / slitStepMm);
  const out = new Float64Array(2 * reach + 1);
  let light = 0;
  for (const k of columns) {
    const shift = view.shiftMmAt(row, k) / slitStepMm;
    const lightAt = (i: number): number => {
      const q = Math.max(0, Math.min(rows - 1.001, row + i + shift));
      const j = Math.floor(q);
      const v = data[j * width + k];
      return v + (q - j) * (data[(j + 1) * width + k] - v);
    };
    let beside = 0;
    for (let i = near; i <= far; i++) beside += (lightAt(-i) + lightAt(i)) / (2 * (far - near + 1));
    light += beside;
    for (let i = -reach; i <= reach; i++) out[i + reach] += beside - lightAt(i);
  }
  if (!(light > 0)) return null;
  for (let i = 0; i < out.length; i++) out[i] /= light;
  return out.some(Number.isNaN) ? null : out;
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
