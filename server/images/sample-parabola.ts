import { type Camera, photoFromTable } from '../geometry/camera.js';
import { linearFromCode } from './linear-light.js';
import type { Raster } from './raster.js';

/**
 * Where in the photo a short straight line of the table lies: a parabola through three projected points (exact to 0.02 px
 * over 70 mm at usual distances). Numbers of it: x and y of its middle, from its middle to its end the parts that grow
 * with the distance, and those that grow with its square.
 */
export const parabolaSize = 6;

/**
 * Puts the parabola of a line of the table, level at heightMm, into `out` from `at` on.
 * @param halfX from the line's middle to its end, mm
 * @param halfY the same in y
 */
export function projectParabola(
  camera: Camera,
  x: number,
  y: number,
  halfX: number,
  halfY: number,
  heightMm: number,
  out: Float64Array,
  at: number,
): void {
  const a = photoFromTable(camera, x - halfX, y - halfY, heightMm);
  const m = photoFromTable(camera, x, y, heightMm);
  const b = photoFromTable(camera, x + halfX, y + halfY, heightMm);
  putParabola(a, m, b, out, at);
}

type PhotoPlace = { readonly x: number; readonly y: number };

/** Puts the parabola from one place of the photo through the middle of the line to another into `out` from `at` on. */
export function putParabola(a: PhotoPlace, m: PhotoPlace, b: PhotoPlace, out: Float64Array, at: number): void {
  out[at] = m.x;
  out[at + 1] = m.y;
  out[at + 2] = (b.x - a.x) / 2;
  out[at + 3] = (b.y - a.y) / 2;
  out[at + 4] = (a.x + b.x) / 2 - m.x;
  out[at + 5] = (a.y + b.y) / 2 - m.y;
}

/**
 * Linear light 0…1 of the brightest channel (bilinear) at equally spaced places from one end of a parabola to the other;
 * NaN outside the photo. Where it is 1 the photo cut light off.
 * @param parabola as `projectParabola` gives it
 * @param count 2 and more
 */
export function sampleBrightest(
  { data, widthPx, heightPx, channels }: Raster,
  parabola: Float64Array,
  count: number,
): Float32Array {
  const out = new Float32Array(count);
  for (let k = 0; k < count; k++) {
    const t = (2 * k) / (count - 1) - 1;
    const px = parabola[0] + t * parabola[2] + t * t * parabola[4];
    const py = parabola[1] + t * parabola[3] + t * t * parabola[5];
    if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) {
      out[k] = Number.NaN;
      continue;
    }
    const x = px | 0;
    const y = py | 0;
    const fx = px - x;
    const fy = py - y;
    let brightest = 0;
    for (let channel = 0; channel < channels; channel++) {
      const p = (y * widthPx + x) * channels + channel;
      const q = p + widthPx * channels;
      const above = (1 - fx) * linearFromCode[data[p]] + fx * linearFromCode[data[p + channels]];
      const below = (1 - fx) * linearFromCode[data[q]] + fx * linearFromCode[data[q + channels]];
      brightest = Math.max(brightest, (1 - fy) * above + fy * below);
    }
    out[k] = brightest;
  }
  return out;
}

/** A third of the linear light of each code: three channels together make their mean. */
const thirdOfLight = linearFromCode.map((light) => light / 3);

/**
 * Linear-light brightness 0…1 (bilinear; of three channels the mean) of equally spaced places from one end of a parabola to the
 * other; NaN outside the photo.
 * @param parabola as `projectParabola` gives it
 * @param count 2 and more
 * @param out takes the brightness, from `to` on
 */
export function sampleParabola(
  { data, widthPx, heightPx, channels }: Raster,
  parabola: Float64Array,
  count: number,
  out: Float32Array,
  to: number,
): void {
  const lut = thirdOfLight;
  const step = 2 / (count - 1);
  const sx = parabola[2];
  const sy = parabola[3];
  const bx = parabola[4];
  const by = parabola[5];
  // From place to place by differences: the second one of a parabola is constant.
  let px = parabola[0] - sx + bx;
  let py = parabola[1] - sy + by;
  let dx = step * (sx + (step - 2) * bx);
  let dy = step * (sy + (step - 2) * by);
  const ddx = 2 * step * step * bx;
  const ddy = 2 * step * step * by;
  // Several places in a row lie between the same four pixels, which are looked up once: brightness at the upper left one,
  // and how it grows across, down, and across and down.
  let known = -1;
  let corner = 0;
  let across = 0;
  let down = 0;
  let both = 0;
  for (let k = to; k < to + count; k++, px += dx, py += dy, dx += ddx, dy += ddy) {
    if (!(px >= 0 && py >= 0 && px < widthPx - 1 && py < heightPx - 1)) {
      out[k] = Number.NaN;
      continue;
    }
    const x = px | 0;
    const y = py | 0;
    const p = (y * widthPx + x) * channels;
    if (p !== known && channels === 1) {
      known = p;
      const q = p + widthPx;
      corner = linearFromCode[data[p]];
      across = linearFromCode[data[p + 1]] - corner;
      down = linearFromCode[data[q]] - corner;
      both = linearFromCode[data[q + 1]] - corner - across - down;
    } else if (p !== known) {
      known = p;
      const q = p + widthPx * 3;
      corner = lut[data[p]] + lut[data[p + 1]] + lut[data[p + 2]];
      across = lut[data[p + 3]] + lut[data[p + 4]] + lut[data[p + 5]] - corner;
      down = lut[data[q]] + lut[data[q + 1]] + lut[data[q + 2]] - corner;
      both = lut[data[q + 3]] + lut[data[q + 4]] + lut[data[q + 5]] - corner - across - down;
    }
    const fx = px - x;
    out[k] = corner + fx * across + (py - y) * (down + fx * both);
  }
}
