import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { type ReducedPhoto, reducedFromPhoto } from './reduced-photo.js';

export interface KnownTrack {
  /** Centre line of the track at the height of the rail tops, table frame, about every 20 mm. */
  readonly track: readonly { readonly x: number; readonly y: number }[];
  /** From the centre line to the outside face of an outer rail head. */
  readonly halfTrackMm: number;
  readonly railTopMm: number;
}

/** Marks in a reduced raster; 0 is far from track. Beside the track: shaded, mirrored light, ends of ties. */
export const besideTrack = 1;
export const onTrack = 2;

/** How far beyond the rail heads the foot of the track and the ends of ties reach (common practice, no source). */
const footMm = 2.5;
const besideMm = 22;

/** Which reduced pixels the known track covers, from its foot to the rail tops, and which lie beside it. */
export function markTrack(camera: Camera, reduced: ReducedPhoto, known: KnownTrack): Uint8Array {
  const marks = new Uint8Array(reduced.widthPx * reduced.heightPx);
  const paint = (heightMm: number, radiusMm: number, mark: number): void => {
    for (const p of known.track) {
      const middle = photoFromTable(camera, p.x, p.y, heightMm);
      const beside = photoFromTable(camera, p.x + radiusMm, p.y, heightMm);
      const radius = Math.hypot(beside.x - middle.x, beside.y - middle.y) / reduced.scale;
      const cx = reducedFromPhoto(reduced.scale, middle.x);
      const cy = reducedFromPhoto(reduced.scale, middle.y);
      for (let y = Math.max(0, Math.ceil(cy - radius)); y <= Math.min(reduced.heightPx - 1, cy + radius); y++) {
        const half = Math.sqrt(Math.max(0, radius * radius - (y - cy) ** 2));
        const last = Math.min(reduced.widthPx - 1, cx + half);
        for (let x = Math.max(0, Math.ceil(cx - half)); x <= last; x++) {
          const at = y * reduced.widthPx + x;
          if (marks[at] < mark) marks[at] = mark;
        }
      }
    }
  };
  paint(0, known.halfTrackMm + besideMm, besideTrack);
  paint(known.railTopMm, known.halfTrackMm, onTrack);
  paint(0, known.halfTrackMm + footMm, onTrack);
  return marks;
}

/**
 * How far a photo position lies from what the track covers in the photo, millimetres on the table: negative on it.
 * Large where no track is near.
 */
export type TrackDistance = (px: number, py: number) => number;

/** Whether the track covers a photo position, or all but touches it: what is seen there is no edge of the table. */
export type Covered = (px: number, py: number) => boolean;

/** How near to the track's outline the table's edge is not told from it, mm. */
const touchingMm = 0.7;

export function coveredByTrack(camera: Camera, known: KnownTrack): Covered {
  const distance = trackDistance(camera, known);
  return (px, py) => distance(px, py) < touchingMm;
}

const cellMm = 60;

export function trackDistance(camera: Camera, known: KnownTrack): TrackDistance {
  const { track, halfTrackMm, railTopMm } = known;
  const cells = new Map<string, number[]>();
  track.forEach((p, i) => {
    const key = `${Math.floor(p.x / cellMm)},${Math.floor(p.y / cellMm)}`;
    const list = cells.get(key);
    if (list) list.push(i);
    else cells.set(key, [i]);
  });
  const fromCentreLine = (x: number, y: number): number => {
    const cx = Math.floor(x / cellMm);
    const cy = Math.floor(y / cellMm);
    let best = cellMm;
    for (let i = cx - 1; i <= cx + 1; i++)
      for (let j = cy - 1; j <= cy + 1; j++)
        for (const k of cells.get(`${i},${j}`) ?? []) best = Math.min(best, toSegments(track, k, x, y));
    return best;
  };
  return (px, py) => {
    const top = tableFromPhotoAtHeight(camera, px, py, railTopMm);
    const foot = tableFromPhotoAtHeight(camera, px, py, 0);
    return Math.min(fromCentreLine(top.x, top.y) - halfTrackMm, fromCentreLine(foot.x, foot.y) - halfTrackMm - footMm);
  };
}

/** Distance to the pieces of the centre line on both sides of one of its places; places far apart are not joined. */
function toSegments(track: readonly { x: number; y: number }[], k: number, x: number, y: number): number {
  const p = track[k];
  let best = Math.hypot(x - p.x, y - p.y);
  for (const other of [track[k - 1], track[k + 1]]) {
    if (!other) continue;
    const dx = other.x - p.x;
    const dy = other.y - p.y;
    const length2 = dx * dx + dy * dy;
    if (length2 > 50 * 50 || length2 < 1e-6) continue;
    const u = Math.min(1, Math.max(0, ((x - p.x) * dx + (y - p.y) * dy) / length2));
    best = Math.min(best, Math.hypot(x - p.x - u * dx, y - p.y - u * dy));
  }
  return best;
}
