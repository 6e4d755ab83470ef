import { type Camera, photoFromTable } from '../../geometry/camera.js';
import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outsideFaceOffsetMm, railOffsets } from '../../scene/track-profile.js';
import { placeAt } from './rail-strips.js';
import { medianOf } from './strip-template.js';

type Colour = readonly [number, number, number];

/** Table in the shade of something is darker than beside it by this at most, and by this much brighter at most. */
const shadeRange = [0.3, 1.35] as const;

/** Where the table beside it lies in the rails' own shade, by this much; only of a hue that rails cannot be taken for. */
const litShade = 3;
const ownHue = 0.22;

/** The rails tell their hue at these places, so far from the ends of a gap. */
const railPlacesMm = [8, 16, 24, 32, 40];

/** A colour this far from any shade of the table's is not table, as a share of its own strength. */
const strangeShare = 0.16;

/** Table beside the track, past its outside faces. */
const besideMm = [6, 10, 14, 18, 22];

/** The track may lie on a marker's sheet, which is no larger than this from where it is farthest from the marker. */
const sheetMm = 300;

/** What stands at a gap hides the table beside it; farther along the track it shows. */
const farMm = 240;
const farStepMm = 12;

/**
 * Share of the places in an open gap that look like the table beside the track there, 0…1. Through a gap one sees the
 * table, whatever its shade; a wagon or a house over the rails shows its own colour.
 */
export function tableInGap(
  { raster, camera, track, line, papers = [] }: RunInPhoto,
  fromS: number,
  toS: number,
): number {
  const face = outsideFaceOffsetMm(track);
  const at = (s: number, aside: number, ahead = 0, heightMm = 0): Colour | null => {
    const p = placeAt(line, s);
    return colourAt(
      raster,
      camera,
      p.x - aside * Math.sin(p.headingRad) + ahead * Math.cos(p.headingRad),
      p.y + aside * Math.cos(p.headingRad) + ahead * Math.sin(p.headingRad),
      heightMm,
    );
  };
  const middleOf = (colours: readonly (Colour | null)[]): Colour | null => {
    const seen = colours.filter((c) => c !== null);
    return seen.length < 3 ? null : ([0, 1, 2].map((k) => medianOf(seen.map((c) => c[k]))) as unknown as Colour);
  };
  const beside = (s: number, side: number): (Colour | null)[] =>
    besideMm.flatMap((off) => [-2, 2].map((ahead) => at(s, side * (face + off), ahead)));
  // The table on either side counts: beyond its edge, on one side, the floor may be.
  const sides = [-1, 1].map((side) => {
    const along: (Colour | null)[] = [];
    for (let s = fromS - farMm; s <= toS + farMm; s += farStepMm) along.push(middleOf(beside(s, side)));
    return middleOf(along);
  });
  const gap = placeAt(line, (fromS + toS) / 2);
  const sheets = papers
    .filter((paper) => paper.some(({ x, y }) => Math.hypot(x - gap.x, y - gap.y) < sheetMm))
    .map((paper) => middleOf(paper.map(({ x, y }) => colourAt(raster, camera, x, y, 0))));
  const usual = [...sides, ...sheets];
  const axisMm = track.railTopMm - track.headWidthMm / 2;
  const rails = middleOf(
    railPlacesMm.flatMap((mm) =>
      [fromS - mm, toS + mm].flatMap((s) => railOffsets(track).map(({ offsetMm }) => at(s, offsetMm, 0, axisMm))),
    ),
  );
  const brightest = (table: Colour): number => (rails && hueApart(table, rails) > ownHue ? litShade : shadeRange[1]);
  const isTable = (c: Colour): boolean => usual.some((u) => u !== null && isShadeOf(c, u, brightest(u)));
  let like = 0;
  let count = 0;
  const inset = Math.min(2, 0.15 * (toS - fromS));
  for (let s = fromS + inset; s <= toS - inset; s += 2) {
    const tables = [-1, 1].map((side) => middleOf(beside(s, side))).filter((c) => c !== null && isTable(c));
    if (tables.length === 0) continue;
    for (let aside = -face; aside <= face; aside += 2) {
      const c = at(s, aside);
      if (!c) continue;
      count++;
      if (tables.some((table) => table !== null && isShadeOf(c, table, brightest(table)))) like++;
    }
  }
  return count > 0 ? like / count : 0;
}

function isShadeOf(c: Colour, table: Colour, brightest: number): boolean {
  const power = table[0] ** 2 + table[1] ** 2 + table[2] ** 2 + 1e-9;
  const best = (c[0] * table[0] + c[1] * table[1] + c[2] * table[2]) / power;
  const shade = Math.max(shadeRange[0], Math.min(brightest, best));
  const off = Math.hypot(c[0] - shade * table[0], c[1] - shade * table[1], c[2] - shade * table[2]);
  return off < strangeShare * Math.hypot(...c) + 0.012;
}

/** Sine of the angle between two colours: 0 where one is a shade of the other. */
function hueApart(a: Colour, b: Colour): number {
  const cross = Math.hypot(a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]);
  return cross / (Math.hypot(...a) * Math.hypot(...b) + 1e-9);
}

/** Mean colour of the four pixels around a place, linear light; null outside the photo. */
function colourAt(raster: Raster, camera: Camera, x: number, y: number, heightMm: number): Colour | null {
  const p = photoFromTable(camera, x, y, heightMm);
  const { data, widthPx, heightPx } = raster;
  if (!(p.x >= 0 && p.y >= 0 && p.x < widthPx - 1 && p.y < heightPx - 1)) return null;
  const out: [number, number, number] = [0, 0, 0];
  const first = ((p.y | 0) * widthPx + (p.x | 0)) * 3;
  for (const at of [first, first + 3, first + widthPx * 3, first + widthPx * 3 + 3])
    for (let k = 0; k < 3; k++) out[k] += linearFromCode[data[at + k]] / 4;
  return out;
}
