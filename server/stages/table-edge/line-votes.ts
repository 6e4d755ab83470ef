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

/** Table positions of reduced pixels, interpolated between exact ones every `cell` pixels. */
class TableGrid {
  private readonly columns: number;
  private readonly rows: number;
  private readonly x: Float64Array;
  private readonly y: Float64Array;

  constructor(
    camera: Camera,
    reduced: ReducedPhoto,
    private readonly cell: number,
  ) {
    this.columns = Math.ceil(reduced.widthPx / cell) + 1;
    this.rows = Math.ceil(reduced.heightPx / cell) + 1;
    this.x = new Float64Array(this.columns * this.rows);
    this.y = new Float64Array(this.columns * this.rows);
    for (let r = 0; r < this.rows; r++)
      for (let c = 0; c < this.columns; c++) {
        const p = tableFromPhotoAtHeight(
          camera,
          photoFromReduced(reduced.scale, c * cell),
          photoFromReduced(reduced.scale, r * cell),
          0,
        );
        this.x[r * this.columns + c] = p.x;
        this.y[r * this.columns + c] = p.y;
      }
  }

  /** Writes x, y, dx/dqx, dx/dqy, dy/dqx, dy/dqy. */
  at(qx: number, qy: number, out: Float64Array): void {
    const c = Math.min(Math.floor(qx / this.cell), this.columns - 2);
    const r = Math.min(Math.floor(qy / this.cell), this.rows - 2);
    const u = qx / this.cell - c;
    const v = qy / this.cell - r;
    const i = r * this.columns + c;
    const j = i + this.columns;
    for (let k = 0; k < 2; k++) {
      const g = k === 0 ? this.x : this.y;
      out[k] = (1 - v) * ((1 - u) * g[i] + u * g[i + 1]) + v * ((1 - u) * g[j] + u * g[j + 1]);
      out[2 + 2 * k] = ((1 - v) * (g[i + 1] - g[i]) + v * (g[j + 1] - g[j])) / this.cell;
      out[3 + 2 * k] = ((1 - u) * (g[j] - g[i]) + u * (g[j + 1] - g[i + 1])) / this.cell;
    }
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

/** Squared gradient of the contrast picture, in the direction of its largest change. */
function squaredGradients(reduced: ReducedPhoto, contrast: Float32Array): Float32Array {
  const { widthPx: w, heightPx: h } = reduced;
  const size2 = new Float32Array(w * h);
  const g = new Float64Array(3);
  for (let y = 1; y < h - 1; y++)
    for (let at = y * w + 1; at < (y + 1) * w - 1; at++) {
      gradientAt(contrast, w, at, g);
      const half = (g[0] - g[2]) / 2;
      size2[at] = (g[0] + g[2]) / 2 + Math.sqrt(half * half + g[1] * g[1]);
    }
  return size2;
}

/** Votes of all edge pixels for lines of the table frame, by direction of the outward normal and distance. */
function collectVotes(camera: Camera, reduced: ReducedPhoto, finish: FinishModel, origin: TablePoint): Float32Array {
  const { widthPx: w, heightPx: h } = reduced;
  const size2 = squaredGradients(reduced, finish.contrast);
  const gradient = new Float64Array(3);
  const grid = new TableGrid(camera, reduced, 16);
  const votes = new Float32Array(thetaBins * rhoBins);
  const place = new Float64Array(6);
  for (let y = 5; y < h - 5; y++)
    for (let x = 5; x < w - 5; x++) {
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
  return votes;
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
  const raw = collectVotes(camera, reduced, finish, origin);
  const votes = new Float32Array(raw.length);
  for (let t = 0; t < thetaBins; t++) {
    const row = t * rhoBins;
    const first = Math.max(0, Math.ceil(leastRhoMm((t * Math.PI) / 180) / rhoBinMm));
    for (let r = first; r < rhoBins; r++) {
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
