import sharp from 'sharp';
import { SampleNumbers } from './noise.mjs';

/** Rows that a band needs above and below. */
export const HALO = 9;
/** Widths that fit above and below within that: the lens's blur, and what sharpening compares with, px. */
const LENS_REACH = 4;
const SHARPEN_SIGMA = 1.25;
const CURVE_STEPS = 4096;
/** Light above white that the curve's table still holds. */
const CURVE_END = 4;
/** Noise is smoothed with this three-pixel kernel, as a phone's is: neighbours correlate by one half. */
const SIDE = 0.2;
const KEPT = (1 - 2 * SIDE) ** 2 + 2 * SIDE ** 2;

/** From linear light to a phone's 8-bit picture: lens blur, vignette, noise and its smoothing, tone curve, sharpening. */
export class Developer {
  constructor(scene, camera) {
    this.seed = scene.seed;
    this.settings = scene.develop;
    this.camera = camera;
    this.curve = toneCurve(scene.develop.contrast);
    this.kernel = gaussian(scene.develop.blur);
    this.halo = gaussian(SHARPEN_SIGMA);
    this.numbers = new SampleNumbers();
  }

  /** Rows from `from` to `to` are in `band`; rows from `top` to `bottom` are written to `data`. */
  develop(band, from, to, top, bottom, data) {
    const { width } = this.camera;
    const rows = to - from;
    convolve(band, width, rows, this.kernel);
    this.#expose(band, from, rows);
    convolve(band, width, rows, [SIDE, 1 - 2 * SIDE, SIDE]);
    this.#encode(band);
    const soft = band.slice();
    convolve(soft, width, rows, this.halo);
    const { sharpen } = this.settings;
    const first = 3 * (top - from) * width;
    const out = data.subarray(3 * top * width, 3 * bottom * width);
    for (let i = 0; i < out.length; i++) {
      const v = band[first + i] + sharpen * (band[first + i] - soft[first + i]);
      out[i] = Math.max(0, Math.min(255, Math.round(v)));
    }
  }

  /** Light to codes, in place, not rounded. */
  #encode(band) {
    const { curve } = this;
    const scale = CURVE_STEPS / CURVE_END;
    for (let k = 0; k < band.length; k++) {
      const v = Math.max(0, Math.min(CURVE_END, band[k])) * scale;
      const i = Math.min(CURVE_STEPS - 1, Math.floor(v));
      band[k] = curve[i] + (curve[i + 1] - curve[i]) * (v - i);
    }
  }

  /** Exposure, white balance, vignette, and shot and read noise. */
  #expose(band, from, rows) {
    const { width, height } = this.camera;
    const { exposure, balance, vignette, shot, read } = this.settings;
    const far = (width * width + height * height) / 4;
    for (let j = 0; j < rows; j++) {
      const y = from + j;
      for (let x = 0; x < width; x++) {
        this.numbers.restart(x, y, this.seed + 77);
        const r2 = ((x - width / 2) ** 2 + (y - height / 2) ** 2) / far;
        const share = exposure * (1 - vignette * r2);
        const k = 3 * (j * width + x);
        const common = 0.75 * this.#normal();
        for (let c = 0; c < 3; c++) {
          const v = band[k + c] * share * balance[c];
          const chance = common + 0.66 * this.#normal();
          band[k + c] = v + (chance * Math.sqrt(shot * shot * Math.max(0, v) + read * read)) / KEPT;
        }
      }
    }
  }

  /** Nearly normal: the sum of four uniform numbers. */
  #normal() {
    const n = this.numbers;
    return (n.next() + n.next() + n.next() + n.next() - 2) * 1.7320508;
  }
}

/** sRGB (IEC 61966-2-1) with some contrast around the middle; light above white is clipped. */
function toneCurve(contrast) {
  return Float32Array.from({ length: CURVE_STEPS + 1 }, (_, i) => {
    const light = Math.min(1, (i / CURVE_STEPS) * CURVE_END);
    const code = light <= 0.0031308 ? 12.92 * light : 1.055 * light ** (1 / 2.4) - 0.055;
    const bent = code * code * (3 - 2 * code);
    return 255 * (code + contrast * (bent - code));
  });
}

function gaussian(sigma) {
  const reach = Math.min(LENS_REACH, Math.ceil(3.5 * sigma));
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * ((i - reach) / sigma) ** 2));
  const total = kernel.reduce((a, b) => a + b, 0);
  return kernel.map((v) => v / total);
}

/** Separable convolution in place, borders continued. */
function convolve(band, width, rows, kernel) {
  const reach = (kernel.length - 1) / 2;
  const line = new Float32Array(Math.max(width, rows) + 2 * reach);
  const pass = (start, stride, count) => {
    for (let i = -reach; i < count + reach; i++)
      line[i + reach] = band[start + stride * Math.max(0, Math.min(count - 1, i))];
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (let k = 0; k < kernel.length; k++) sum += kernel[k] * line[i + k];
      band[start + stride * i] = sum;
    }
  };
  for (let j = 0; j < rows; j++) for (let c = 0; c < 3; c++) pass(3 * j * width + c, 3, width);
  for (let i = 0; i < width; i++) for (let c = 0; c < 3; c++) pass(3 * i + c, 3 * width, rows);
}

/** JPEG as a phone writes it: 4:2:0, EXIF with the focal length and the orientation, no maker's name. */
export async function encodePhoto(data, scene, camera) {
  const { width, height } = camera;
  let picture = sharp(data, { raw: { width, height, channels: 3 } });
  if (scene.orientation === 6) picture = picture.rotate(270);
  if (scene.orientation === 3) picture = picture.rotate(180);
  return picture
    .jpeg({ quality: scene.develop.quality, chromaSubsampling: '4:2:0' })
    .withExif({
      IFD0: { Orientation: String(scene.orientation) },
      IFD2: { FocalLengthIn35mmFilm: String(scene.lens.f35Exif) },
    })
    .withMetadata({ orientation: scene.orientation })
    .toBuffer();
}
