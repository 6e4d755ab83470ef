import { type Camera, photoFromTable } from '../../geometry/camera.js';
import type { TablePoint } from '../../geometry/frames.js';
import { type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';
import type { KnownTrack } from './track-zone.js';

/** What surely lies on the table, table frame. */
export interface OnTable extends KnownTrack {
  /** Outer corners of the black squares at z = 0, four to a marker. */
  readonly markerCorners: readonly (readonly TablePoint[])[];
}

/** The middle of what lies on the table. */
export function middleOf(on: OnTable): { x: number; y: number } {
  const all = [...on.markerCorners.flat(), ...on.track];
  const xs = all.map((p) => p.x);
  const ys = all.map((p) => p.y);
  return { x: (Math.min(...xs) + Math.max(...xs)) / 2, y: (Math.min(...ys) + Math.max(...ys)) / 2 };
}

/** How far out, seen from `origin` in a direction, the markers and the track's outer rails reach, mm. */
export function reachOf(on: OnTable, origin: { x: number; y: number }): (thetaRad: number) => number {
  return (thetaRad) => {
    const c = Math.cos(thetaRad);
    const s = Math.sin(thetaRad);
    let reach = Number.NEGATIVE_INFINITY;
    for (const corners of on.markerCorners)
      for (const p of corners) reach = Math.max(reach, (p.x - origin.x) * c + (p.y - origin.y) * s);
    for (const p of on.track) reach = Math.max(reach, (p.x - origin.x) * c + (p.y - origin.y) * s + on.halfTrackMm);
    return reach;
  };
}

function convexHull(points: readonly { x: number; y: number }[]): { x: number; y: number }[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  const half = (list: readonly { x: number; y: number }[]): { x: number; y: number }[] => {
    const out: { x: number; y: number }[] = [];
    for (const p of list) {
      while (out.length >= 2) {
        const a = out[out.length - 2];
        const b = out[out.length - 1];
        if ((b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    out.pop();
    return out;
  };
  return [...half(sorted), ...half([...sorted].reverse())];
}

function isInside(hull: readonly { x: number; y: number }[], x: number, y: number): boolean {
  for (let i = 0; i < hull.length; i++) {
    const a = hull[i];
    const b = hull[(i + 1) % hull.length];
    if ((b.x - a.x) * (y - a.y) - (b.y - a.y) * (x - a.x) < 0) return false;
  }
  return hull.length > 2;
}

/** With so many places between markers and track none is needed that lies outside of them. */
const enoughBetween = 400;

/**
 * Reduced pixels most of which show bare table top: between the markers and the track, around each marker beyond its
 * paper, and beside the track. Two to four thousand of them.
 * @param inside more places of which it is known that they lie on the table, table frame
 */
export function barePlaces(
  camera: Camera,
  reduced: ReducedPhoto,
  on: OnTable,
  inside: readonly { readonly x: number; readonly y: number }[],
): number[] {
  const wanted: { x: number; y: number }[] = [];
  const all = [...on.markerCorners.flat(), ...on.track, ...inside];
  const hull = convexHull(all);
  const xs = all.map((p) => p.x);
  const ys = all.map((p) => p.y);
  const left = Math.min(...xs);
  const low = Math.min(...ys);
  const wide = Math.max(...xs) - left;
  const high = Math.max(...ys) - low;
  const step = Math.sqrt((wide * high) / (inside.length > 0 ? 3000 : 1500));
  for (let x = left; x <= left + wide; x += step)
    for (let y = low; y <= low + high; y += step) if (isInside(hull, x, y)) wanted.push({ x, y });
  // Beside track that runs along the table's edge is the floor.
  const enough = wanted.length > enoughBetween;
  for (const corners of on.markerCorners) {
    const cx = corners.reduce((sum, p) => sum + p.x, 0) / 4;
    const cy = corners.reduce((sum, p) => sum + p.y, 0) / 4;
    const side = Math.hypot(corners[0].x - corners[1].x, corners[0].y - corners[1].y);
    for (let k = 0; k < 48; k++)
      for (const r of [1.2, 1.5, 1.8, 2.1, 2.4])
        wanted.push({ x: cx + r * side * Math.cos(k / 7.64), y: cy + r * side * Math.sin(k / 7.64) });
  }
  for (let i = 1; i < on.track.length; i++) {
    const a = on.track[i - 1];
    const b = on.track[i];
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    if (!(length > 1) || length > 100) continue;
    for (const off of [12, 25, 40])
      for (const side of [-1, 1]) {
        const d = (side * (on.halfTrackMm + off)) / length;
        const beside = { x: b.x - d * (b.y - a.y), y: b.y + d * (b.x - a.x) };
        if (!enough || isInside(hull, beside.x, beside.y)) wanted.push(beside);
      }
  }
  const near = trackCells(on);
  const places: number[] = [];
  for (const p of wanted) {
    if (near(p.x, p.y) || onMarker(on, p.x, p.y)) continue;
    const q = photoFromTable(camera, p.x, p.y, 0);
    const x = Math.round(reducedFromPhoto(reduced.scale, q.x));
    const y = Math.round(reducedFromPhoto(reduced.scale, q.y));
    if (x >= 4 && y >= 4 && x < reduced.widthPx - 4 && y < reduced.heightPx - 4) places.push(y * reduced.widthPx + x);
  }
  return places;
}

/** Is a place within half a track and 10 mm of the track? Looked up in cells of 10 mm. */
function trackCells(on: OnTable): (x: number, y: number) => boolean {
  const cell = 10;
  const reach = Math.ceil((on.halfTrackMm + 10) / cell);
  const cells = new Set<string>();
  for (const p of on.track) {
    const cx = Math.round(p.x / cell);
    const cy = Math.round(p.y / cell);
    for (let i = -reach; i <= reach; i++)
      for (let j = -reach; j <= reach; j++) if (i * i + j * j <= reach * reach) cells.add(`${cx + i},${cy + j}`);
  }
  return (x, y) => cells.has(`${Math.round(x / cell)},${Math.round(y / cell)}`);
}

function onMarker(on: OnTable, x: number, y: number): boolean {
  return on.markerCorners.some((corners) => {
    const cx = corners.reduce((sum, p) => sum + p.x, 0) / 4;
    const cy = corners.reduce((sum, p) => sum + p.y, 0) / 4;
    return Math.hypot(x - cx, y - cy) < 1.1 * Math.hypot(corners[0].x - corners[1].x, corners[0].y - corners[1].y);
  });
}
