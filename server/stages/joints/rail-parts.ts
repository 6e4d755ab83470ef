import { cameraCentreInTable } from '../../geometry/camera.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { outerHeadOffsetMm } from '../../scene/track-profile.js';
import { giveBackSums } from './column-sums.js';
import { brightestAcross, giveBackStrips, placeAt, type RailStrip, unrollRails } from './rail-strips.js';

/** Run of the view for each millimetre of height at a place of a run: positive where the eye is farther along, and left. */
export interface ViewSlopes {
  readonly along: number;
  readonly left: number;
}

/** Head or flange of one rail along a run, unrolled at its own height. */
export interface RailPart {
  readonly part: 'head' | 'flange';
  /** Index of the rail among the rails of the track. */
  readonly rail: number;
  /** Sideways place of the rail on the track, left positive. */
  readonly acrossMm: number;
  /** How high the rail stands over its flange, or over the table where it has none. */
  readonly overFlangeMm: number;
  readonly strip: RailStrip;
  /** Columns that the rail's own head does not hide, at a row. */
  readonly columnsAt: (row: number) => readonly number[];
  readonly slopesAt: (row: number) => ViewSlopes;
  /** How far along the run a column shows a square cut, at a row: each column of a round head has its own height. */
  readonly shiftMmAt: (row: number, column: number) => number;
  /** How far along the run the upright face of a square end is seen at a row, in a column: positive if one that looks along is. */
  readonly faceMmAt: (row: number, column: number) => number;
  /** Linear light of the brightest channel in each column, at a row: looked up in the photo. */
  readonly brightestAt: (row: number) => Float32Array;
}

export interface PartShape {
  readonly stepMm: number;
  readonly acrossStepMm: number;
  /** Share of the head's half width that is looked at. */
  readonly headShare: number;
  /** What is left out along the rim of the flange, and of it beside the head, millimetres. */
  readonly rimMm: number;
}

/**
 * Heads and flanges of all rails from one place of a run to another: a square cut or end is at the same place of all of
 * them. The head hides a part of its flange from a slanting view.
 */
export function railParts(run: RunInPhoto, fromS: number, toS: number, shape: PartShape): RailPart[] {
  const { track } = run;
  const radius = track.headWidthMm / 2;
  const axisMm = track.railTopMm - radius;
  const slopesAt = slopesAlong(run, fromS, shape.stepMm);
  const unrolled = (halfWidthMm: number, heightMm: number): RailStrip[] =>
    unrollRails(run, fromS, toS, {
      stepMm: shape.stepMm,
      halfWidthMm,
      acrossStepMm: shape.acrossStepMm,
      heightMm,
    });
  const partsOf = (
    part: RailPart['part'],
    strips: readonly RailStrip[],
    columnsAt: (row: number) => readonly number[],
    shiftMmAt: RailPart['shiftMmAt'],
    faceMmAt: RailPart['faceMmAt'],
    heightMm: number,
  ): RailPart[] =>
    strips.map((strip, rail) => ({
      part,
      rail,
      acrossMm: strip.rail * outerHeadOffsetMm(track),
      overFlangeMm: track.railTopMm - (track.flangeTopMm ?? 0),
      strip,
      columnsAt,
      slopesAt,
      shiftMmAt,
      faceMmAt,
      brightestAt: (row) => brightestAcross(run, fromS + row * strip.stepMm, strip, heightMm),
    }));
  const headMm = axisMm + radius / 2;
  const heads = unrolled(shape.headShare * radius, headMm);
  const whole = Array.from({ length: heads[0].columns }, (_, k) => k);
  /** Where the line of sight of a column meets the head first, and where it would leave it: heights above the axis. */
  const heightsAt = (row: number, column: number): { upperMm: number; lowerMm: number } => {
    const { left } = slopesAt(row);
    const asideMm = (column - (whole.length - 1) / 2) * shape.acrossStepMm - (radius / 2) * left;
    return heightsOnHead(asideMm, left, radius);
  };
  const shiftMmAt = (row: number, column: number): number =>
    (radius / 2 - heightsAt(row, column).upperMm) * slopesAt(row).along;
  const faceMmAt = (row: number, column: number): number => {
    const { upperMm, lowerMm } = heightsAt(row, column);
    return (upperMm - lowerMm) * slopesAt(row).along;
  };
  const parts = partsOf('head', heads, () => whole, shiftMmAt, faceMmAt, headMm);
  if (track.flangeWidthMm === null || track.flangeTopMm === null) return parts;
  const flanges = unrolled(track.flangeWidthMm / 2 - shape.rimMm, track.flangeTopMm);
  const dropMm = axisMm - track.flangeTopMm;
  const width = flanges[0].columns;
  // Rows that show the same columns share one list of them: a run has tens of thousands of rows, and a dozen lists.
  const lists = new Map<number, number[]>();
  const columnsAt = remembered((row) => {
    const { left } = slopesAt(row);
    const hiddenMm = radius * Math.hypot(1, left) + shape.rimMm;
    const isSeen = (k: number): boolean =>
      Math.abs((k - (width - 1) / 2) * shape.acrossStepMm + dropMm * left) > hiddenMm;
    // What the head hides is one block of columns.
    let from = 0;
    while (from < width && isSeen(from)) from++;
    let to = from;
    while (to < width && !isSeen(to)) to++;
    const name = from * (width + 1) + to;
    let list = lists.get(name);
    if (!list) {
      list = Array.from({ length: width }, (_, k) => k).filter((k) => k < from || k >= to);
      lists.set(name, list);
    }
    return list;
  });
  const none = (): number => 0;
  return [...parts, ...partsOf('flange', flanges, columnsAt, none, none, track.flangeTopMm)];
}

/** Keeps the memory of parts that nobody looks at any more. */
export function giveBackParts(parts: readonly RailPart[]): void {
  for (const { strip } of parts) giveBackSums(strip);
  giveBackStrips(parts.map(({ strip }) => strip));
}

/**
 * Heights above the axis of a round head at which a line of sight meets it and leaves it; both that of the touching line
 * where it passes by.
 * @param asideMm where the line passes the axis' height, left of the axis
 * @param left how far left the line goes for each millimetre of height
 */
export function heightsOnHead(asideMm: number, left: number, radiusMm: number): { upperMm: number; lowerMm: number } {
  const size = Math.hypot(1, left);
  const off = Math.max(-1, Math.min(1, asideMm / size / radiusMm)) * radiusMm;
  const half = Math.sqrt(radiusMm * radiusMm - off * off);
  return { upperMm: (half - off * left) / size, lowerMm: (-half - off * left) / size };
}

function slopesAlong({ camera, line }: RunInPhoto, fromS: number, stepMm: number): (row: number) => ViewSlopes {
  const eye = cameraCentreInTable(camera.cameraFromTable);
  return remembered((row) => {
    const p = placeAt(line, fromS + row * stepMm);
    const [dx, dy] = [eye[0] - p.x, eye[1] - p.y];
    const [c, s] = [Math.cos(p.headingRad), Math.sin(p.headingRad)];
    return { along: (dx * c + dy * s) / eye[2], left: (-dx * s + dy * c) / eye[2] };
  });
}

/** The same rows are asked for again and again, by each rail and each window; they lie close together, mostly from 0 on. */
function remembered<T>(of: (row: number) => T): (row: number) => T {
  const known: T[] = [];
  return (row) => {
    known[row] ??= of(row);
    return known[row];
  };
}
