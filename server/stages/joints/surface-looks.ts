import { middleInPlace, sigmaOfMiddle } from '../../linalg/middle.js';
import { medianOf } from './strip-template.js';

/**
 * A surface: its brightness (root of linear light, mean of the channels) and its hue (red less green and blue less green,
 * over the brightness), and the scatter of each. Shade changes the brightness alone.
 */
export interface Look {
  readonly colour: readonly number[];
  readonly sigma: readonly number[];
}

/** Brightness below which a hue says little more. */
const hueFloor = 0.05;

/** Brightness and hue of a colour in root light, written to three places. */
export function brightnessAndHue(red: number, green: number, blue: number, out: Float32Array, at: number): void {
  const brightness = (red + green + blue) / 3;
  out[at] = brightness;
  out[at + 1] = (red - green) / (brightness + hueFloor);
  out[at + 2] = (blue - green) / (brightness + hueFloor);
}

/** Scatter below which none is believed, of the brightness, and of the hue times the brightness: grain of the photo. */
const leastSigma = 0.022;
const leastHueSigma = 0.015;
/** A surface that is seen in fewer places is not known. */
const fewPlaces = 6;

/** The look of a surface from its brightness and hue, three numbers a place; NaN is passed over. Null when there are too few. */
export function lookOf(colours: ArrayLike<number>): Look | null {
  if (3 * channel.length < colours.length) channel = new Float64Array(Math.ceil(colours.length / 3));
  const colour = [0, 0, 0];
  const sigma = [0, 0, 0];
  for (let c = 0; c < 3; c++) {
    let count = 0;
    for (let i = c; i < colours.length; i += 3) if (!Number.isNaN(colours[i])) channel[count++] = colours[i];
    if (c === 0 && count < fewPlaces) return null;
    const values = channel.subarray(0, count);
    const middle = middleInPlace(values);
    for (let i = 0; i < count; i++) values[i] = Math.abs(values[i] - middle);
    colour[c] = middle;
    sigma[c] = sigmaOfMiddle * middleInPlace(values);
  }
  return { colour, sigma };
}

/** Room for one channel of the places of a surface, used again and again. */
let channel = new Float64Array(0);

/** The middle of several looks of one surface, with how much they differ; null when most are unknown. */
export function middleLook(looks: readonly (Look | null)[]): Look | null {
  const known = looks.filter((look) => look !== null);
  if (known.length === 0) return null;
  const colour = [0, 1, 2].map((c) => medianOf(known.map((look) => look.colour[c])));
  const sigma = [0, 1, 2].map((c) =>
    Math.hypot(
      medianOf(known.map((look) => look.sigma[c])),
      sigmaOfMiddle * medianOf(known.map((look) => Math.abs(look.colour[c] - colour[c]))),
    ),
  );
  return { colour, sigma };
}

/** Share of a rail that looks otherwise (rust, ties, spots), and of what shows in a gap (pins, their shadows). */
const strangeOfRail = 0.2;
const strangeOfTable = 0.1;
/** Density of what may have any brightness and hue. */
const strange = 0.25;
/** Share of the table next to rails that lies in shade, the more often the lighter, and what the deepest leaves of the brightness. */
const shadeShare = 0.4;
const deepestShade = 0.35;
/** One place says this much at most. */
const mostSaid = 2;

/**
 * Log of how many times better a place fits the table, on either side, than a rail; cut to ±2.
 * @param colours brightness and hue, three numbers a place, of which those at `at` are taken
 */
export function tableOrRail(colours: ArrayLike<number>, at: number, rail: Look, tables: readonly Look[]): number {
  const brightness = colours[at];
  const asRail =
    (1 - strangeOfRail) * normal(brightness, rail.colour[0], rail.sigma[0]) * hueDensity(colours, at, rail) +
    strangeOfRail * strange;
  let asTable = strangeOfTable * strange;
  for (const table of tables) {
    const [open] = table.colour;
    const bright =
      (1 - shadeShare) * normal(brightness, open, table.sigma[0]) + shadeShare * shadeDensity(brightness, open);
    asTable += ((1 - strangeOfTable) * bright * hueDensity(colours, at, table)) / tables.length;
  }
  return Math.max(-mostSaid, Math.min(mostSaid, Math.log(asTable / asRail)));
}

/** Rises straight from the deepest shade to the open table. */
function shadeDensity(brightness: number, open: number): number {
  const light = brightness / open;
  if (light > 1 || light < deepestShade) return 0;
  return (2 * (light - deepestShade)) / ((1 - deepestShade) ** 2 * open);
}

function hueDensity(colours: ArrayLike<number>, at: number, { colour, sigma }: Look): number {
  const least = leastHueSigma / (colours[at] + hueFloor);
  return (
    normal(colours[at + 1], colour[1], Math.max(least, sigma[1])) *
    normal(colours[at + 2], colour[2], Math.max(least, sigma[2]))
  );
}

function normal(value: number, mean: number, sigma: number): number {
  const width = Math.max(leastSigma, sigma);
  const z = (value - mean) / width;
  return z > 8 || z < -8 ? 0 : Math.exp((-z * z) / 2) / (width * Math.sqrt(2 * Math.PI));
}
