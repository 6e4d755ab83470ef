import { cameraCentreInTable, photoFromTable } from '../../geometry/camera.js';
import { linearFromCode } from '../../images/linear-light.js';
import type { Raster } from '../../images/raster.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outsideFaceOffsetMm, railOffsets } from '../../scene/track-profile.js';
import { lengthOf, placeAt } from './rail-strips.js';
import { brightnessAndHue, type Look, lookOf, middleLook, tableOrRail } from './surface-looks.js';

/** How much the flanges of a run look like the table rather than like themselves, row by row. */
export interface TableTrail {
  /** Place on the line of the first row. */
  readonly startS: number;
  readonly stepMm: number;
  /** Mean log of the ratio of likelihoods, table over rail, each column's cut to ±2; NaN where nothing can be told. */
  readonly like: Float32Array;
}

const stepMm = 1;
/** Columns of each flange, and how far from its rim and from the head's outline they stay. */
const flangeColumns = 11;
const rimMm = 0.4;
/** Table beside the track: past the ends of the ties, short of a neighbouring track (57 mm away). */
const besideMm = [6, 9, 12, 15, 18];
/** Rails and table are looked at in blocks; a rail's look is the middle of so many on each side, so that gaps drop out. */
const blockRows = 60;
const blocksBeside = 2;
/** The table likewise, so that a wagon or a house that stands over it drops out: they are 300 mm long at most. */
const tableRows = 30;
const tablesBeside = 12;
const sampleEvery = 3;

/**
 * Compares the flanges with the table beside the track and with what they usually look like. Through an open gap the table
 * shows where the flanges were; pins are thin and lie higher, so a gap that they bridge shows as well as an empty one, and
 * rust looks like neither. Null for a track whose flanges are not known.
 * @param fromS first place on the line
 * @param toS last place on the line
 * @param knownToS beyond this place rails are compared with what is before it, as where it is not known whether they go on
 */
export function tableTrail(run: RunInPhoto, fromS: number, toS: number, knownToS?: number): TableTrail | null {
  const { track } = run;
  if (track.flangeWidthMm === null || track.flangeTopMm === null) return null;
  const rows = sampleRows(run, fromS, toS, track.flangeWidthMm / 2 - rimMm, track.flangeTopMm);
  const looks = railLooks(rows, fromS, run, knownToS ?? lengthOf(run.line));
  const like = new Float32Array(rows.count);
  const tables = tableLooks(rows);
  for (let i = 0; i < rows.count; i++)
    like[i] = rowLike(
      rows,
      i,
      looks[Math.min(looks.length - 1, Math.floor(i / blockRows))],
      tables[Math.floor(i / tableRows)],
    );
  return { startS: fromS, stepMm, like };
}

/** Mean of a trail between two places; NaN without a row between them. */
export function meanTrail({ startS, stepMm: step, like }: TableTrail, fromS: number, toS: number): number {
  let sum = 0;
  let count = 0;
  const last = Math.min(like.length - 1, Math.floor((toS - startS) / step));
  for (let i = Math.max(0, Math.ceil((fromS - startS) / step)); i <= last; i++) {
    if (Number.isNaN(like[i])) continue;
    sum += like[i];
    count++;
  }
  return count > 0 ? sum / count : Number.NaN;
}

/** Brightness and hue, three numbers a place, row by row; NaN where the photo does not show it or a head hides it. */
interface SampledRows {
  readonly count: number;
  /** Places of all flanges in a row. */
  readonly columns: number;
  readonly flanges: Float32Array;
  /** The table on the right, and on the left, at `besideMm`. */
  readonly table: readonly [Float32Array, Float32Array];
}

function sampleRows(run: RunInPhoto, fromS: number, toS: number, halfMm: number, heightMm: number): SampledRows {
  const { raster, camera, track, line } = run;
  const radius = track.headWidthMm / 2;
  const dropMm = track.railTopMm - radius - heightMm;
  const face = outsideFaceOffsetMm(track);
  const rails = railOffsets(track);
  const eye = cameraCentreInTable(camera.cameraFromTable);
  const count = Math.max(0, Math.floor((toS - fromS) / stepMm) + 1);
  const columns = rails.length * flangeColumns;
  const flanges = new Float32Array(3 * count * columns).fill(Number.NaN);
  const table = [0, 1].map(() => new Float32Array(3 * count * besideMm.length));
  for (let row = 0; row < count; row++) {
    const p = placeAt(line, fromS + row * stepMm);
    const c = Math.cos(p.headingRad);
    const n = Math.sin(p.headingRad);
    const left = (-(eye[0] - p.x) * n + (eye[1] - p.y) * c) / eye[2];
    const hiddenMm = radius * Math.hypot(1, left) + rimMm;
    for (let r = 0, at = row * columns; r < rails.length; r++)
      for (let k = 0; k < flangeColumns; k++, at++) {
        const own = ((2 * k) / (flangeColumns - 1) - 1) * halfMm;
        if (Math.abs(own + dropMm * left) <= hiddenMm) continue;
        const aside = rails[r].offsetMm + own;
        const q = photoFromTable(camera, p.x - aside * n, p.y + aside * c, heightMm);
        sampleColour(raster, q.x, q.y, flanges, 3 * at);
      }
    for (let side = 0; side < 2; side++)
      for (let k = 0, at = row * besideMm.length; k < besideMm.length; k++, at++) {
        const aside = (2 * side - 1) * (face + besideMm[k]);
        const q = photoFromTable(camera, p.x - aside * n, p.y + aside * c, 0);
        sampleColour(raster, q.x, q.y, table[side], 3 * at);
      }
  }
  return { count, columns, flanges, table: [table[0], table[1]] };
}

function sampleColour(raster: Raster, px: number, py: number, out: Float32Array, at: number): void {
  const { data, widthPx, heightPx } = raster;
  if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) {
    out.fill(Number.NaN, at, at + 3);
    return;
  }
  const fx = px - (px | 0);
  const fy = py - (py | 0);
  const a = ((py | 0) * widthPx + (px | 0)) * 3;
  brightnessAndHue(
    rootLightBetween(data, a, widthPx, fx, fy),
    rootLightBetween(data, a + 1, widthPx, fx, fy),
    rootLightBetween(data, a + 2, widthPx, fx, fy),
    out,
    at,
  );
}

/** Root of linear light of one channel, between four pixels of which `a` is the upper left one. */
function rootLightBetween(data: Uint8Array, a: number, widthPx: number, fx: number, fy: number): number {
  const b = a + widthPx * 3;
  const top = linearFromCode[data[a]] * (1 - fx) + linearFromCode[data[a + 3]] * fx;
  const bottom = linearFromCode[data[b]] * (1 - fx) + linearFromCode[data[b + 3]] * fx;
  return Math.sqrt(top * (1 - fy) + bottom * fy);
}

/** The look of each column in each block; null where too little of it is seen. */
function railLooks(
  { count, columns, flanges }: SampledRows,
  fromS: number,
  { line }: RunInPhoto,
  knownToS: number,
): (Look | null)[][] {
  // Beyond the ends of an open line there may be no rail.
  const firstRow = line.closed ? 0 : Math.max(0, Math.ceil(-fromS / stepMm));
  const endRow = line.closed ? count : Math.min(count, Math.floor((knownToS - fromS) / stepMm));
  const blocks = Math.max(
    1,
    Math.ceil((line.closed ? count : Math.min(count, (knownToS - fromS) / stepMm)) / blockRows),
  );
  const seen = new Float64Array(3 * Math.ceil(blockRows / sampleEvery));
  const own = Array.from({ length: blocks }, (_, b) =>
    Array.from({ length: columns }, (_, k) => {
      let to = 0;
      for (let i = Math.max(firstRow, b * blockRows); i < Math.min(endRow, (b + 1) * blockRows); i += sampleEvery)
        for (let c = 0; c < 3; c++) seen[to++] = flanges[3 * (i * columns + k) + c];
      return lookOf(seen.subarray(0, to));
    }),
  );
  return own.map((_, b) =>
    Array.from({ length: columns }, (_, k) =>
      middleLook(own.slice(Math.max(0, b - blocksBeside), b + blocksBeside + 1).map((look) => look[k])),
    ),
  );
}

/** The table on each side in each block of rows: the middle of what is seen near it. */
function tableLooks({ count, table }: SampledRows): Look[][] {
  const width = 3 * besideMm.length;
  const seen = new Float64Array(width * Math.ceil(tableRows / sampleEvery));
  const sides = table.map((places) =>
    Array.from({ length: Math.ceil(count / tableRows) }, (_, b) => {
      let to = 0;
      for (let i = b * tableRows; i < Math.min(count, (b + 1) * tableRows); i += sampleEvery)
        for (let c = 0; c < width; c++) seen[to++] = places[i * width + c];
      return lookOf(seen.subarray(0, to));
    }),
  );
  return sides[0].map((_, b) =>
    sides.flatMap((own) => middleLook(own.slice(Math.max(0, b - tablesBeside), b + tablesBeside + 1)) ?? []),
  );
}

/** Fewer columns than this tell nothing. */
const leastColumns = 4;

function rowLike(
  { columns, flanges }: SampledRows,
  row: number,
  looks: readonly (Look | null)[],
  tables: readonly Look[],
): number {
  let sum = 0;
  let count = 0;
  for (let k = 0, at = 3 * row * columns; k < looks.length; k++, at += 3) {
    const look = looks[k];
    if (!look || Number.isNaN(flanges[at])) continue;
    sum += tableOrRail(flanges, at, look, tables);
    count++;
  }
  return count < leastColumns || tables.length === 0 ? Number.NaN : sum / count;
}
