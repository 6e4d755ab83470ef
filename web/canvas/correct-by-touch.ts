import { alongPiece } from '../../server/contract/along-piece.js';
import type { Correction, CorrectionOf, Corrections } from '../../server/contract/corrections.js';
import type { Report, ReportPhoto, ReportRun } from '../../server/contract/report.js';
import { photoFromTable } from '../../server/geometry/camera.js';
import { type CorrectionTool, toolTexts } from '../text/correction-words.js';
import { distanceToLine } from './nearest-thing.js';
import { cameraOf, photoFrame } from './picture-frame.js';
import type { Point } from './view.js';

export type Pixel = [number, number];

/** What corrections are made on: one photo of a report, and the corrections there are. */
export interface CorrectedPhoto {
  readonly report: Report;
  readonly photo: ReportPhoto;
  /** The photo's id, as corrections name it. */
  readonly photoId: string;
  readonly corrections: Corrections;
}

type Corner = CorrectionOf<'table-outline'>['corners'][number];

/** Points enough for any curve: a loop of 10 m, every 40 mm. */
const mostLinePoints = 250;

/** The fewest places that make a correction. */
export function fewestTouches(tool: CorrectionTool): number {
  return toolTexts[tool].touches ?? (tool === 'area-false' ? 3 : 2);
}

/** Whether the places touched so far make a correction without asking: tools that take any number wait for “Done”. */
export function isComplete(tool: CorrectionTool, touched: readonly Pixel[]): boolean {
  const { touches } = toolTexts[tool];
  return touches !== null && touched.length >= touches;
}

/**
 * The corrections after some places were touched with a tool.
 * @param id of the new correction
 * @returns null when nothing lies there that the tool could mean
 */
export function correctedBy(
  tool: CorrectionTool,
  touched: readonly Pixel[],
  on: CorrectedPhoto,
  id: string,
): Corrections | null {
  if (touched.length < fewestTouches(tool)) return null;
  const made = correctionOf(tool, touched, on, id);
  return made && withCorrection(on, made);
}

/** The corrections after the corners on a photo were set by hand. @param id of the outline, new: it is not measured yet */
export function outlinedBy(corners: readonly Corner[], on: CorrectedPhoto, id: string): Corrections {
  return withCorrection(on, outlineOf(corners, on, id));
}

function outlineOf(corners: readonly Corner[], on: CorrectedPhoto, id: string): Correction {
  return { id, photo: on.photoId, kind: 'table-outline', corners: [...corners] };
}

/** A photo has one outline: the new one takes the place of the old one. */
function withCorrection({ corrections }: CorrectedPhoto, made: Correction): Corrections {
  const replaced = (c: Correction): boolean =>
    made.kind === 'table-outline' && c.kind === 'table-outline' && c.photo === made.photo;
  return { ...corrections, list: [...corrections.list.filter((c) => !replaced(c)), made] };
}

function correctionOf(
  tool: CorrectionTool,
  touched: readonly Pixel[],
  on: CorrectedPhoto,
  id: string,
): Correction | null {
  const base = { id, photo: on.photoId };
  const [first, second] = touched;
  switch (tool) {
    case 'corner-moved':
    case 'side-moved':
    case 'corner-added':
    case 'corner-removed': {
      const corners = cornersAfter(tool, touched, outlineOn(on));
      return corners && outlineOf(corners, on, id);
    }
    case 'track-drawn':
      return { ...base, kind: 'track-here', line: [...touched] };
    case 'run-false': {
      const line = runNear(on, first)?.line;
      return line ? { ...base, kind: 'no-track-along', line: thinned(line) } : null;
    }
    case 'part-false': {
      const line = partOfRun(on, first, second);
      return line ? { ...base, kind: 'no-track-along', line: thinned(line) } : null;
    }
    case 'area-false':
      return { ...base, kind: 'not-track', area: [...touched] };
    case 'run-split':
      return { ...base, kind: 'split', at: first };
    case 'runs-joined':
      return { ...base, kind: 'join', ends: [first, second] };
    case 'gap-missed':
      return { ...base, kind: 'open-gap', ends: [first, second] };
    case 'end-moved':
      return { ...base, kind: 'rail-end', at: first };
    case 'gap-false':
      return { ...base, kind: 'no-gap', at: first };
  }
}

function givenOutline({ corrections, photoId }: CorrectedPhoto): CorrectionOf<'table-outline'> | null {
  const given = corrections.list.findLast((c) => c.kind === 'table-outline' && c.photo === photoId);
  return (given as CorrectionOf<'table-outline'> | undefined) ?? null;
}

/** The corners of the table on a photo: as given by hand, else as measured. */
export function outlineOn(on: CorrectedPhoto): readonly Corner[] {
  const given = givenOutline(on);
  if (given) return given.corners;
  const frame = photoFrame(on.photo);
  const camera = cameraOf(on.photo.camera);
  // Beyond the picture the lens model ends; there the corner stands where a lens without faults would show it.
  const ideal = { ...camera, lens: { ...camera.lens, k1: 0, k2: 0, p1: 0, p2: 0 } };
  return on.report.table.outline.map(([x, y]) => {
    const p = frame.pictureFromTable(x, y, 0) ?? photoFromTable(ideal, x, y, 0);
    return { at: [p.x, p.y], set: false };
  });
}

/** Puts one corner somewhere else. */
export function withCorner(corners: readonly Corner[], index: number, at: Pixel): Corner[] {
  return corners.map((c, i) => (i === index ? { at, set: true } : c));
}

function cornersAfter(tool: CorrectionTool, touched: readonly Pixel[], corners: readonly Corner[]): Corner[] | null {
  const [at, second] = touched;
  if (corners.length < 3) return null;
  const near = indexOfLeast(corners, (c) => distance(c.at, at));
  if (tool === 'corner-moved') return withCorner(corners, near, at);
  if (tool === 'corner-removed') {
    if (corners.length < 4) return null;
    const left = corners.filter((_, i) => i !== near);
    // The neighbours now bound a side of their own: that is what the person says.
    return left.map((c, i) => (i === near % left.length ? { ...c, set: true } : c));
  }
  const side = indexOfLeast(corners, (c, i) => {
    const line = [toPoint(c.at), toPoint(corners[(i + 1) % corners.length].at)];
    return touched.reduce((sum, p) => sum + distanceToLine(line, toPoint(p)), 0);
  });
  if (tool === 'corner-added') return [...corners.slice(0, side + 1), { at, set: true }, ...corners.slice(side + 1)];
  const n = corners.length;
  const moved = (corner: number, other: number): Corner | null => {
    const p = crossing(at, second, corners[corner].at, corners[other].at);
    return p && { at: p, set: true };
  };
  const next = (side + 1) % n;
  const from = moved(side, (side + n - 1) % n);
  const to = moved(next, (next + 1) % n);
  return from && to && corners.map((c, i) => (i === side ? from : i === next ? to : c));
}

/** Where the line through a and b crosses that through c and d; null when they are nearly parallel. */
function crossing(a: Pixel, b: Pixel, c: Pixel, d: Pixel): Pixel | null {
  const [ux, uy] = [b[0] - a[0], b[1] - a[1]];
  const [vx, vy] = [d[0] - c[0], d[1] - c[1]];
  const turn = ux * vy - uy * vx;
  if (Math.abs(turn) < 0.02 * Math.hypot(ux, uy) * Math.hypot(vx, vy)) return null;
  const t = ((c[0] - a[0]) * vy - (c[1] - a[1]) * vx) / turn;
  return [a[0] + t * ux, a[1] + t * uy];
}

/** The run whose centre line passes nearest to a place of the photo, as that photo shows it. */
function runNear(on: CorrectedPhoto, at: Pixel): { run: ReportRun; line: Pixel[] } | null {
  let best: { run: ReportRun; line: Pixel[]; off: number } | null = null;
  for (const run of on.report.runs) {
    const line = lineOf(on, run);
    if (line.length < 2) continue;
    const off = distanceToLine(line.map(toPoint), toPoint(at));
    if (!best || off < best.off) best = { run, line, off };
  }
  return best;
}

/** A run's centre line at the height of the rail axes, photo pixels. */
function lineOf({ report, photo }: CorrectedPhoto, run: ReportRun): Pixel[] {
  const frame = photoFrame(photo);
  const height = report.track.railTopMm - report.track.headWidthMm / 2;
  return run.pieces
    .flatMap((piece) => alongPiece(piece, 0))
    .map(([x, y]) => frame.pictureFromTable(x, y, height))
    .filter((p): p is Point => p !== null)
    .map((p) => [p.x, p.y]);
}

/** The part of the nearest run between two places; on a loop the shorter way round. */
function partOfRun(on: CorrectedPhoto, from: Pixel, to: Pixel): Pixel[] | null {
  const near = runNear(on, from);
  if (!near) return null;
  const { run, line } = near;
  const [a, b] = [from, to].map((p) => indexOfLeast(line, (q) => distance(p, q))).sort((x, y) => x - y);
  const inner = line.slice(a, b + 1);
  const outer = [...line.slice(b), ...line.slice(0, a + 1)];
  const part = run.closed && lengthOf(outer) < lengthOf(inner) ? outer : inner;
  return part.length > 1 ? part : null;
}

function thinned(line: readonly Pixel[]): Pixel[] {
  const every = Math.max(1, Math.ceil(line.length / mostLinePoints));
  return line.filter((_, i) => i % every === 0 || i === line.length - 1);
}

function lengthOf(line: readonly Pixel[]): number {
  return line.reduce((sum, p, i) => (i === 0 ? 0 : sum + distance(p, line[i - 1])), 0);
}

function indexOfLeast<T>(list: readonly T[], value: (item: T, index: number) => number): number {
  let best = 0;
  list.forEach((item, i) => {
    if (value(item, i) < value(list[best], best)) best = i;
  });
  return best;
}

function distance(a: Pixel, b: Pixel): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

function toPoint([x, y]: Pixel): Point {
  return { x, y };
}
