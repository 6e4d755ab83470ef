import sharp from 'sharp';
import type { Raster } from '../../server/images/raster.js';
import type { Photo } from '../../server/scene/photo.js';
import { familyGrids } from '../../server/stages/markers/tag-family.js';
import { noExif } from './no-exif.js';
import { normalFrom, seededRandom } from './seeded-random.js';

/**
 * Draws pictures of tags with known corners, as a camera would take them: pinhole with radial distortion, several samples
 * a pixel, blur in linear light, light that changes over the picture, tone curve, noise, JPEG. Shares nothing with the
 * detector but the code table.
 */
export interface TagScene {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly seed: number;
  readonly tags: readonly PlacedTag[];
  readonly blurPx: number;
  /** Standard deviation of the noise, 8-bit codes. */
  readonly noiseCodes: number;
  /** Linear light of white paper; above 1 it is clipped. */
  readonly exposure: number;
  /** Light falls to this share from one side of the picture to the other. */
  readonly lightFall: number;
  /** A shadow with a straight edge: everything on one side of the line through (x, y) gets this share of the light. */
  readonly shadow: { readonly x: number; readonly y: number; readonly angleRad: number; readonly share: number } | null;
  /** Radial term of the lens, in units of a focal length of 0.6 diagonals. */
  readonly k1: number;
  readonly background: 'plain' | 'grain' | 'clutter' | 'white';
  /** Discs that lie on top of everything, px. */
  readonly covers?: readonly {
    readonly x: number;
    readonly y: number;
    readonly radiusPx: number;
    readonly reflectance: number;
  }[];
  /** JPEG quality, or null for none. */
  readonly jpegQuality: number | null;
}

export interface PlacedTag {
  readonly id: number;
  /** Middle in the undistorted picture, px. */
  readonly x: number;
  readonly y: number;
  /** Side seen from straight ahead, px. */
  readonly sidePx: number;
  readonly turnRad: number;
  /** Tilt away from the camera and the direction of it. */
  readonly tiltRad: number;
  readonly tiltTurnRad: number;
  readonly borderModules: 1 | 2;
  /** White paper around the black square, modules. */
  readonly quietModules: number;
}

export interface TagTruth {
  readonly id: number;
  /** x0 y0 … x3 y3: upper left, upper right, lower right, lower left as printed; px, pixel centres at integers. */
  readonly corners: readonly number[];
  readonly shortestSidePx: number;
}

export interface RenderedTags {
  readonly photo: Photo;
  readonly truth: readonly TagTruth[];
}

const SAMPLES = 4;
/** Reflectance of print and paper. */
const BLACK = 0.045;
const WHITE = 0.85;

export async function renderTags(scene: TagScene): Promise<RenderedTags> {
  const { widthPx: w, heightPx: h } = scene;
  const random = seededRandom(scene.seed);
  const light = new Float32Array(w * h);
  drawBackground(light, scene, random);
  const lens = lensOf(scene);
  for (const tag of scene.tags) drawTag(light, scene, lens, tag);
  for (const { x, y, radiusPx, reflectance } of scene.covers ?? [])
    for (let i = 0; i < w * h; i++)
      if (Math.hypot((i % w) - x, Math.floor(i / w) - y) <= radiusPx) light[i] = reflectance;
  applyLight(light, scene);
  blur(light, w, h, scene.blurPx);
  const normal = normalFrom(random);
  const data = new Uint8Array(w * h * 3);
  const tint = [1, 0.97 + 0.06 * random(), 0.9 + 0.15 * random()];
  for (let i = 0; i < w * h; i++) {
    const common = 0.7 * normal() * scene.noiseCodes;
    for (let c = 0; c < 3; c++) {
      const value = codeFromLight(light[i] * scene.exposure * tint[c]) + common + 0.7 * normal() * scene.noiseCodes;
      data[3 * i + c] = Math.max(0, Math.min(255, Math.round(value)));
    }
  }
  const truth = scene.tags.map((tag) => truthOf(tag, lens));
  return { photo: await photoFrom({ widthPx: w, heightPx: h, channels: 3, data }, scene.jpegQuality), truth };
}

async function photoFrom(raster: Raster, quality: number | null): Promise<Photo> {
  if (quality === null) return { name: 'drawn', raster, exif: noExif };
  const { widthPx: width, heightPx: height } = raster;
  const jpeg = await sharp(raster.data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality })
    .toBuffer();
  const decoded = await sharp(jpeg).raw().toBuffer();
  return { name: 'drawn', raster: { ...raster, data: new Uint8Array(decoded) }, exif: noExif };
}

/** sRGB (IEC 61966-2-1), from a table fine enough for 0.01 codes everywhere. */
const TABLE = 65536;
const codes = Float32Array.from({ length: TABLE + 1 }, (_, i) => {
  const light = i / TABLE;
  return 255 * (light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055);
});

function codeFromLight(light: number): number {
  return codes[Math.round(TABLE * Math.max(0, Math.min(1, light)))];
}

interface Lens {
  readonly cx: number;
  readonly cy: number;
  readonly f: number;
  readonly k1: number;
}

function lensOf({ widthPx, heightPx, k1 }: TagScene): Lens {
  return { cx: (widthPx - 1) / 2, cy: (heightPx - 1) / 2, f: 0.6 * Math.hypot(widthPx, heightPx), k1 };
}

function distort(lens: Lens, x: number, y: number): [number, number] {
  const [dx, dy] = [x - lens.cx, y - lens.cy];
  const m = 1 + (lens.k1 * (dx * dx + dy * dy)) / lens.f ** 2;
  return [lens.cx + dx * m, lens.cy + dy * m];
}

function undistort(lens: Lens, x: number, y: number): [number, number] {
  let [ux, uy] = [x, y];
  for (let i = 0; i < 12; i++) {
    const [px, py] = distort(lens, ux, uy);
    ux += x - px;
    uy += y - py;
  }
  return [ux, uy];
}

/** Rows of the matrix from the tag's plane (side 1, middle at 0, x right, y down) to the undistorted picture. */
function cameraMatrix(tag: PlacedTag, lens: Lens): number[] {
  const [c, s] = [Math.cos(tag.turnRad), Math.sin(tag.turnRad)];
  const [ct, st] = [Math.cos(tag.tiltRad), Math.sin(tag.tiltRad)];
  const [cd, sd] = [Math.cos(tag.tiltTurnRad), Math.sin(tag.tiltTurnRad)];
  // Axis of tilt (cd, sd, 0): rotation about it applied to the turned plane axes.
  const turned = [
    [c, s],
    [-s, c],
  ];
  const axes = turned.map(([x, y]) => {
    const along = x * cd + y * sd;
    const across = -x * sd + y * cd;
    return [along * cd - across * ct * sd, along * sd + across * ct * cd, across * st];
  });
  const depth = lens.f / tag.sidePx;
  const [ox, oy] = [((tag.x - lens.cx) / lens.f) * depth, ((tag.y - lens.cy) / lens.f) * depth];
  const row = (i: 0 | 1 | 2, o: number) => [axes[0][i], axes[1][i], o];
  const [X, Y, Z] = [row(0, ox), row(1, oy), row(2, depth)];
  return [...X.map((v, i) => lens.f * v + lens.cx * Z[i]), ...Y.map((v, i) => lens.f * v + lens.cy * Z[i]), ...Z];
}

function inverse3(m: readonly number[]): number[] {
  const [a, b, c, d, e, f, g, h, i] = m;
  const det = a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  return [
    e * i - f * h,
    c * h - b * i,
    b * f - c * e,
    f * g - d * i,
    a * i - c * g,
    c * d - a * f,
    d * h - e * g,
    b * g - a * h,
    a * e - b * d,
  ].map((v) => v / det);
}

function apply3(m: readonly number[], x: number, y: number): [number, number] {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

function truthOf(tag: PlacedTag, lens: Lens): TagTruth {
  const m = cameraMatrix(tag, lens);
  const corners = [
    [-0.5, -0.5],
    [0.5, -0.5],
    [0.5, 0.5],
    [-0.5, 0.5],
  ].map(([x, y]) => distort(lens, ...apply3(m, x, y)));
  const sides = corners.map(([x, y], i) => Math.hypot(x - corners[(i + 1) % 4][0], y - corners[(i + 1) % 4][1]));
  return { id: tag.id, corners: corners.flat(), shortestSidePx: Math.min(...sides) };
}

/** Reflectance of the sheet at a place of the tag's plane; null beyond the paper. */
function sheet(tag: PlacedTag, grid: ArrayLike<number>, x: number, y: number): number | null {
  const modules = 6 + 2 * tag.borderModules;
  const [column, row] = [(x + 0.5) * modules, (y + 0.5) * modules];
  const quiet = tag.quietModules;
  if (column < -quiet || row < -quiet || column >= modules + quiet || row >= modules + quiet) return null;
  if (column < 0 || row < 0 || column >= modules || row >= modules) return WHITE;
  const [c, r] = [Math.floor(column) - tag.borderModules, Math.floor(row) - tag.borderModules];
  return c >= 0 && r >= 0 && c < 6 && r < 6 && grid[r * 6 + c] ? WHITE : BLACK;
}

function drawTag(light: Float32Array, scene: TagScene, lens: Lens, tag: PlacedTag): void {
  const { widthPx: w, heightPx: h } = scene;
  const matrix = cameraMatrix(tag, lens);
  const back = inverse3(matrix);
  const grid = familyGrids()[tag.id];
  const half = 0.5 + tag.quietModules / (6 + 2 * tag.borderModules);
  const rim = [-half, half].flatMap((x) => [-half, half].map((y) => distort(lens, ...apply3(matrix, x, y))));
  const [xs, ys] = [rim.map((p) => p[0]), rim.map((p) => p[1])];
  const [x0, x1] = [Math.max(0, Math.floor(Math.min(...xs)) - 2), Math.min(w - 1, Math.ceil(Math.max(...xs)) + 2)];
  const [y0, y1] = [Math.max(0, Math.floor(Math.min(...ys)) - 2), Math.min(h - 1, Math.ceil(Math.max(...ys)) + 2)];
  for (let y = y0; y <= y1; y++) {
    for (let x = x0; x <= x1; x++) {
      // The lens is even enough to be taken as a shift within one pixel.
      const [ux, uy] = undistort(lens, x, y);
      const [vx, vy] = undistort(lens, x + 1, y + 1);
      let sum = 0;
      for (let j = 0; j < SAMPLES; j++)
        for (let i = 0; i < SAMPLES; i++) {
          const [dx, dy] = [(i + 0.5) / SAMPLES - 0.5, (j + 0.5) / SAMPLES - 0.5];
          const [tx, ty] = apply3(back, ux + dx * (vx - ux), uy + dy * (vy - uy));
          sum += sheet(tag, grid, tx, ty) ?? light[y * w + x];
        }
      light[y * w + x] = sum / SAMPLES ** 2;
    }
  }
}

function drawBackground(light: Float32Array, scene: TagScene, random: () => number): void {
  const { widthPx: w, heightPx: h, background } = scene;
  const base = background === 'white' ? 0.8 : 0.15 + 0.5 * random();
  light.fill(base);
  if (background === 'grain' || background === 'clutter') {
    const waves = Array.from({ length: 8 }, (_, i) => {
      const period = 2.5 * 2 ** i;
      const angle = background === 'grain' ? 0.2 * random() : Math.PI * random();
      return {
        fx: (2 * Math.PI * Math.sin(angle)) / period,
        fy: (2 * Math.PI * Math.cos(angle)) / period,
        phase: 6.3 * random(),
      };
    });
    for (let y = 0; y < h; y++)
      for (let x = 0; x < w; x++) {
        let sum = 0;
        for (const { fx, fy, phase } of waves) sum += Math.sin(fx * x + fy * y + phase);
        light[y * w + x] *= Math.exp(0.09 * sum);
      }
  }
  if (background === 'clutter') for (let i = 0; i < 60; i++) drawThing(light, w, h, random);
}

/** A dark or bright thing that is no tag: box, framed box, disc, row of bars, checks, or a code of no family. */
function drawThing(light: Float32Array, w: number, h: number, random: () => number): void {
  const [cx, cy, size, angle] = [w * random(), h * random(), 8 * 12 ** random(), Math.PI * random()];
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const kind = Math.floor(6 * random());
  const [ink, paper] = random() < 0.7 ? [0.03 + 0.1 * random(), 0.6 + 0.3 * random()] : [0.7, 0.1];
  const code = Array.from({ length: 36 }, () => random() < 0.5);
  const reach = Math.ceil(size);
  for (let y = Math.max(0, Math.floor(cy) - reach); y < Math.min(h, cy + reach); y++)
    for (let x = Math.max(0, Math.floor(cx) - reach); x < Math.min(w, cx + reach); x++) {
      const u = ((x - cx) * c + (y - cy) * s) / size;
      const v = (-(x - cx) * s + (y - cy) * c) / size;
      const value = thingAt(kind, u, v, ink, paper, code);
      if (value !== null) light[y * w + x] = value;
    }
}

function thingAt(kind: number, u: number, v: number, ink: number, paper: number, code: readonly boolean[]) {
  const far = Math.max(Math.abs(u), Math.abs(v));
  if (kind === 2) return Math.hypot(u, v) < 0.5 ? ink : null;
  if (far > 0.62) return null;
  if (kind === 0) return far < 0.5 ? ink : null;
  if (kind === 1) return far < 0.5 && far > 0.38 ? ink : paper;
  if (kind === 3) return Math.floor((u + 1) * 9) % 2 === 0 && far < 0.5 ? ink : paper;
  if (kind === 4) return (Math.floor((u + 1) * 8) + Math.floor((v + 1) * 8)) % 2 === 0 ? ink : paper;
  if (far > 0.5) return paper;
  const [column, row] = [Math.floor((u + 0.5) * 8) - 1, Math.floor((v + 0.5) * 8) - 1];
  return column >= 0 && row >= 0 && column < 6 && row < 6 && code[row * 6 + column] ? paper : ink;
}

function applyLight(light: Float32Array, scene: TagScene): void {
  const { widthPx: w, heightPx: h, shadow } = scene;
  const angle = seededRandom(scene.seed + 1)() * 2 * Math.PI;
  const [ca, sa] = [Math.cos(angle), Math.sin(angle)];
  const reach = (Math.abs(ca) * w + Math.abs(sa) * h) / 2;
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++) {
      const along = ((x - w / 2) * ca + (y - h / 2) * sa) / reach;
      let share = 1 - ((1 - scene.lightFall) * (along + 1)) / 2;
      if (shadow !== null) {
        const off = (x - shadow.x) * Math.cos(shadow.angleRad) + (y - shadow.y) * Math.sin(shadow.angleRad);
        share *= shadow.share + ((1 - shadow.share) * Math.max(-1, Math.min(1, off / 1.5)) + 1 - shadow.share) / 2;
      }
      light[y * w + x] *= share;
    }
}

/** Gaussian blur, separable, borders continued. */
function blur(light: Float32Array, w: number, h: number, sigma: number): void {
  if (sigma <= 0) return;
  const reach = Math.ceil(4 * sigma);
  const kernel = Float64Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * ((i - reach) / sigma) ** 2));
  const total = kernel.reduce((p, q) => p + q, 0);
  const pass = (length: number, at: (i: number) => number) => {
    const line = Float64Array.from(
      { length: length + 2 * reach },
      (_, i) => light[at(Math.max(0, Math.min(length - 1, i - reach)))],
    );
    for (let i = 0; i < length; i++) {
      let sum = 0;
      for (let k = 0; k < kernel.length; k++) sum += kernel[k] * line[i + k];
      light[at(i)] = sum / total;
    }
  };
  for (let y = 0; y < h; y++) pass(w, (x) => y * w + x);
  for (let x = 0; x < w; x++) pass(h, (y) => y * w + x);
}
