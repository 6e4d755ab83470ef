import { type Camera, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { TablePoint } from '../../geometry/frames.js';
import { evidenceOf } from './edge-evidence.js';
import type { FinishModel } from './finish-model.js';
import { photoFromReduced, type ReducedPhoto } from './reduced-photo.js';
import type { OutlineLine } from './table-lines.js';

const thetaBins = 360;
const rhoBinMm = 5;
const rhoBins = 800;
/** A lens that is not yet known bends an edge: its parts turn by a few degrees and leave the chord by this. */
const turnBins = 3;
const bowBins = 3;

/** Pixels on each side of a cell, between the corners of which table positions are interpolated. */
const cellPx = 16;

/** Table positions of reduced pixels, interpolated between exact ones at the corners of cells. */
class TableGrid {
  private readonly columns: number;
  private readonly rows: number;
  private readonly x: Float64Array;
  private readonly y: Float64Array;

  constructor(camera: Camera, reduced: ReducedPhoto) {
    this.columns = Math.ceil(reduced.widthPx / cellPx) + 1;
    this.rows = Math.ceil(reduced.heightPx / cellPx) + 1;
    this.x = new Float64Array(this.columns * this.rows);
    this.y = new Float64Array(this.columns * this.rows);
    for (let r = 0; r < this.rows; r++)
      for (let c = 0; c < this.columns; c++) {
        const p = tableFromPhotoAtHeight(
          camera,
          photoFromReduced(reduced.scale, c * cellPx),
          photoFromReduced(reduced.scale, r * cellPx),
          0,
        );
        this.x[r * this.columns + c] = p.x;
        this.y[r * this.columns + c] = p.y;
      }
  }

  /** Cells, row by row, of which a corner is not inside a convex region of the table: the others lie inside as a whole. */
  cellsBeyond(isInside: (x: number, y: number) => boolean): Cells {
    const inside = Uint8Array.from(this.x, (x, i) => (isInside(x, this.y[i]) ? 1 : 0));
    const [columns, rows] = [this.columns - 1, this.rows - 1];
    const marked = new Uint8Array(columns * rows);
    for (let r = 0; r < rows; r++)
      for (let c = 0; c < columns; c++) {
        const i = r * this.columns + c;
        const j = i + this.columns;
        marked[r * columns + c] = 1 - (inside[i] & inside[i + 1] & inside[j] & inside[j + 1]);
      }
    return { columns, rows, marked };
  }

  /** Writes x, y, dx/dqx, dx/dqy, dy/dqx, dy/dqy. */
  at(qx: number, qy: number, out: Float64Array): void {
    const c = Math.min(Math.floor(qx / cellPx), this.columns - 2);
    const r = Math.min(Math.floor(qy / cellPx), this.rows - 2);
    const u = qx / cellPx - c;
    const v = qy / cellPx - r;
    const i = r * this.columns + c;
    const j = i + this.columns;
    for (let k = 0; k < 2; k++) {
      const g = k === 0 ? this.x : this.y;
      out[k] = (1 - v) * ((1 - u) * g[i] + u * g[i + 1]) + v * ((1 - u) * g[j] + u * g[j + 1]);
      out[2 + 2 * k] = ((1 - v) * (g[i + 1] - g[i]) + v * (g[j + 1] - g[j])) / cellPx;
      out[3 + 2 * k] = ((1 - u) * (g[j] - g[i]) + u * (g[j + 1] - g[i + 1])) / cellPx;
    }
  }
}

/** Marks of the cells of a picture, row by row. */
interface Cells {
  readonly columns: number;
  readonly rows: number;
  readonly marked: Uint8Array;
}

/** The marked cells and those around them. */
function grown({ columns, rows, marked }: Cells): Cells {
  const more = new Uint8Array(marked.length);
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      if (marked[r * columns + c] === 0) continue;
      for (let y = Math.max(0, r - 1); y <= Math.min(rows - 1, r + 1); y++)
        more.fill(1, y * columns + Math.max(0, c - 1), y * columns + Math.min(columns, c + 2));
    }
  return { columns, rows, marked: more };
}

/** Calls `look` for the pixels from one column to before another of a row, for marked cells only; `rimPx` are left out. */
function eachMarkedRow(
  { columns, marked }: Cells,
  { widthPx, heightPx }: ReducedPhoto,
  rimPx: number,
  look: (y: number, from: number, to: number) => void,
): void {
  for (let y = rimPx; y < heightPx - rimPx; y++) {
    const row = Math.floor(y / cellPx) * columns;
    for (let c = 0; c < columns; c++)
      if (marked[row + c] === 1) look(y, Math.max(rimPx, c * cellPx), Math.min(widthPx - rimPx, (c + 1) * cellPx));
  }
}

/** Products of the gradient of the contrast picture, summed over the three channels (Di Zenzo 1986), at pixel `at`. */
function gradientAt(contrast: Float32Array, w: number, at: number, out: Float64Array): void {
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (let c = 3 * at; c < 3 * at + 3; c++) {
    const up = c - 3 * w;
    const down = c + 3 * w;
    const a = contrast[down + 3] - contrast[up - 3];
    const b = contrast[up + 3] - contrast[down - 3];
    const gx = (a + b + 2 * (contrast[c + 3] - contrast[c - 3])) / 4;
    const gy = (a - b + 2 * (contrast[down] - contrast[up])) / 4;
    xx += gx * gx;
    xy += gx * gy;
    yy += gy * gy;
  }
  out[0] = xx;
  out[1] = xy;
  out[2] = yy;
}

/** Squared gradient of the contrast picture, in the direction of its largest change; in marked cells. */
function squaredGradients(reduced: ReducedPhoto, contrast: Float32Array, cells: Cells): Float32Array {
  const w = reduced.widthPx;
  const size2 = new Float32Array(w * reduced.heightPx);
  const g = new Float64Array(3);
  eachMarkedRow(cells, reduced, 1, (y, from, to) => {
    for (let at = y * w + from; at < y * w + to; at++) {
      gradientAt(contrast, w, at, g);
      const half = (g[0] - g[2]) / 2;
      size2[at] = (g[0] + g[2]) / 2 + Math.sqrt(half * half + g[1] * g[1]);
    }
  });
  return size2;
}

/**
 * Votes of edge pixels for lines of the table frame, by direction of the outward normal and distance.
 * @param firstBins for each direction the least distance, in bins, of which votes are asked for
 */
function collectVotes(
  camera: Camera,
  reduced: ReducedPhoto,
  finish: FinishModel,
  origin: TablePoint,
  firstBins: Int32Array,
): Float32Array {
  const w = reduced.widthPx;
  const grid = new TableGrid(camera, reduced);
  // What is farther in than any line that is asked for need not be looked at.
  const cells = grid.cellsBeyond((x, y) => votesNowhere(x - origin.x, y - origin.y, firstBins));
  const size2 = squaredGradients(reduced, finish.contrast, grown(cells));
  const gradient = new Float64Array(3);
  const votes = new Float32Array(thetaBins * rhoBins);
  const place = new Float64Array(6);
  eachMarkedRow(cells, reduced, 5, (y, from, to) => {
    for (let x = from; x < to; x++) {
      const at = y * w + x;
      const s = size2[at];
      if (s < 2) continue;
      gradientAt(finish.contrast, w, at, gradient);
      // Cosine and sine of half the angle whose tangent is 2·xy over xx − yy.
      const across = gradient[0] - gradient[2];
      const turned2 = across / (Math.sqrt(across * across + 4 * gradient[1] * gradient[1]) || 1);
      const nx = Math.sqrt(Math.max(0, (1 + turned2) / 2));
      const ny = Math.sqrt(Math.max(0, (1 - turned2) / 2)) * (gradient[1] < 0 ? -1 : 1);
      const next = Math.round(ny) * w + Math.round(nx);
      if (size2[at + next] > s || size2[at - next] >= s) continue;
      grid.at(x, y, place);
      const ahead = finish.likeness[at + Math.round(3 * ny) * w + Math.round(3 * nx)];
      const behind = finish.likeness[at - Math.round(3 * ny) * w - Math.round(3 * nx)];
      // Direction of the edge in the table frame, and the normal square to it, on the side of the photo normal.
      const dx = -place[2] * ny + place[3] * nx;
      const dy = -place[4] * ny + place[5] * nx;
      const turned = dy * (place[2] * nx + place[3] * ny) - dx * (place[4] * nx + place[5] * ny) > 0 ? 1 : -1;
      const theta = Math.atan2(-turned * dx, turned * dy);
      const px = place[0] - origin.x;
      const py = place[1] - origin.y;
      const outwards = evidenceOf(s, behind, ahead);
      const inwards = evidenceOf(s, ahead, behind);
      if (outwards > 0) castVotes(votes, theta, px, py, outwards);
      if (inwards > 0) castVotes(votes, theta + Math.PI, px, py, inwards);
    }
  });
  return votes;
}

/** Whether no line through a place, whatever its direction, is far enough out; bins that are summed with others count. */
function votesNowhere(px: number, py: number, firstBins: Int32Array): boolean {
  for (let t = 0; t < thetaBins; t++) {
    const bin = (px * degreeCos[t - leastDegree] + py * degreeSin[t - leastDegree]) / rhoBinMm;
    if (bin > firstBins[t] - bowBins - 1) return false;
  }
  return true;
}

/** Degrees of which cosine and sine are looked up: those of any direction with its turns, and half a turn more. */
const leastDegree = -200;
const degreeCos = Float64Array.from({ length: 800 }, (_, i) => Math.cos(((i + leastDegree) * Math.PI) / 180));
const degreeSin = Float64Array.from({ length: 800 }, (_, i) => Math.sin(((i + leastDegree) * Math.PI) / 180));

function castVotes(votes: Float32Array, theta: number, px: number, py: number, weight: number): void {
  const centre = Math.round((theta * 180) / Math.PI);
  for (let k = centre - turnBins; k <= centre + turnBins; k++) {
    const rho = Math.round((px * degreeCos[k - leastDegree] + py * degreeSin[k - leastDegree]) / rhoBinMm);
    if (rho < 0 || rho >= rhoBins) continue;
    votes[(((k % thetaBins) + thetaBins) % thetaBins) * rhoBins + rho] += weight;
  }
}

/**
 * Lines along which many edge pixels lie that may be the table's edge, best first.
 * @param leastRhoMm for a normal direction, how far out the line must lie at least (what lies on the table is inside)
 */
export function proposeLines(
  camera: Camera,
  reduced: ReducedPhoto,
  finish: FinishModel,
  origin: TablePoint,
  leastRhoMm: (thetaRad: number) => number,
  most: number,
): OutlineLine[] {
  const firstBins = Int32Array.from({ length: thetaBins }, (_, t) =>
    Math.max(0, Math.ceil(leastRhoMm((t * Math.PI) / 180) / rhoBinMm)),
  );
  const raw = collectVotes(camera, reduced, finish, origin, firstBins);
  const votes = new Float32Array(raw.length);
  for (let t = 0; t < thetaBins; t++) {
    const row = t * rhoBins;
    for (let r = firstBins[t]; r < rhoBins; r++) {
      let sum = 0;
      for (let k = Math.max(0, r - bowBins); k <= Math.min(rhoBins - 1, r + bowBins); k++)
        sum += (1 - Math.abs(k - r) / (bowBins + 1)) * raw[row + k];
      votes[row + r] = sum;
    }
  }
  const peaks: { t: number; r: number; v: number }[] = [];
  for (let t = 0; t < thetaBins; t++)
    for (let r = 0; r < rhoBins; r++) {
      const v = votes[t * rhoBins + r];
      if (v > 8 && isPeak(votes, t, r, v)) peaks.push({ t, r, v });
    }
  peaks.sort((a, b) => b.v - a.v);
  return peaks.slice(0, most).map((p) => ({ thetaRad: (p.t * Math.PI) / 180, rhoMm: p.r * rhoBinMm }));
}

function isPeak(votes: Float32Array, t: number, r: number, v: number): boolean {
  for (let dt = -2; dt <= 2; dt++) {
    const row = ((t + dt + thetaBins) % thetaBins) * rhoBins;
    for (let k = Math.max(0, r - 4); k <= Math.min(rhoBins - 1, r + 4); k++) {
      const other = votes[row + k];
      if (other > v || (other === v && (dt < 0 || (dt === 0 && k < r)))) return false;
    }
  }
  return true;
}
