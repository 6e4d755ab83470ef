import { SampleNumbers } from './noise.mjs';
import { Developer, HALO } from './scene-develop.mjs';
import { SceneTracer } from './scene-trace.mjs';

const BAND = 128;
/** Samples in a row of a pixel: at outlines and on the track, on paper and at the rims of shadows. */
const MANY = 3;
const SOME = 2;
const TRACK_IDS = 10 * 8;
const THING_IDS = 800;

/**
 * Renders a scene band by band: one ray through each pixel's middle first, then many where what is seen changes within a
 * pixel and wherever there is track. @returns upright 8-bit picture, three channels
 */
export function renderScene(scene, world, camera) {
  const { width, height } = camera;
  const tracer = new SceneTracer(scene, world, camera);
  const developer = new Developer(scene, camera);
  const data = new Uint8Array(width * height * 3);
  for (let top = 0; top < height; top += BAND) {
    const bottom = Math.min(height, top + BAND);
    const band = traceBand(tracer, scene.seed, width, top - HALO, bottom + HALO);
    developer.develop(band, top - HALO, bottom + HALO, top, bottom, data);
  }
  return data;
}

/** Linear light of rows from `top` up to `bottom`; both may lie outside the picture. */
function traceBand(tracer, seed, width, top, bottom) {
  const rows = bottom - top;
  const light = new Float32Array(width * rows * 3);
  const ids = new Int32Array(width * rows);
  const numbers = new SampleNumbers();
  const { rgb } = tracer;
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < width; i++) {
      numbers.restart(i, top + j, seed);
      tracer.trace(i, top + j, numbers);
      const k = j * width + i;
      ids[k] = tracer.id;
      light[3 * k] = rgb[0];
      light[3 * k + 1] = rgb[1];
      light[3 * k + 2] = rgb[2];
    }
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < width; i++) {
      const n = samplesAt(ids, width, rows, i, j);
      if (n > 1) average(tracer, numbers, seed, i, top + j, n, light, 3 * (j * width + i));
    }
  return light;
}

function samplesAt(ids, width, rows, i, j) {
  const own = ids[j * width + i];
  if (own >= TRACK_IDS && own < THING_IDS) return MANY;
  let shade = false;
  for (let y = Math.max(0, j - 1); y <= Math.min(rows - 1, j + 1); y++)
    for (let x = Math.max(0, i - 1); x <= Math.min(width - 1, i + 1); x++) {
      const other = ids[y * width + x];
      if (other >> 3 !== own >> 3) return MANY;
      if (other !== own) shade = true;
    }
  return shade || own >> 3 === 2 || own >> 3 === 3 ? SOME : 1;
}

function average(tracer, numbers, seed, x, y, n, light, k) {
  const { rgb } = tracer;
  let r = 0;
  let g = 0;
  let b = 0;
  for (let v = 0; v < n; v++)
    for (let u = 0; u < n; u++) {
      numbers.restart(x * 8 + u, y * 8 + v, seed + 1);
      tracer.trace(x + (u + numbers.next()) / n - 0.5, y + (v + numbers.next()) / n - 0.5, numbers);
      r += rgb[0];
      g += rgb[1];
      b += rgb[2];
    }
  light[k] = r / (n * n);
  light[k + 1] = g / (n * n);
  light[k + 2] = b / (n * n);
}
