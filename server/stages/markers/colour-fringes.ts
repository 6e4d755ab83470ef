import type { PhotoPoint } from '../../geometry/frames.js';
import type { ColourScales } from '../../images/align-colours.js';
import type { Raster } from '../../images/raster.js';
import { choleskyInPlace, choleskySolve } from '../../linalg/cholesky.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import { CODE_SIDE } from './tag-family.js';

/** How far to both sides of a marker's side its colours are looked at, pixels, and in what steps. */
const MOST_REACH_PX = 7;
const LEAST_REACH_PX = 4;
const STEP_PX = 0.5;
/** So much of a module to both sides is plain black and plain white. */
const REACH_MODULES = 0.8;
/** Outermost steps that tell the level of black, and of white. */
const LEVEL_STEPS = 4;
/** Black and white must differ by so much in a colour, 8-bit codes. */
const LEAST_CONTRAST = 24;
/** Near the ends of a side others are near, share of its length. */
const ENDS_LEFT_OUT = 0.12;

/** Standard uncertainty of the shift of one marker, px (measured on pictures without lateral colour). */
const SHIFT_SIGMA_PX = 0.01;

/** Smaller fringes in the picture's corners are left as they are, px. */
const LEAST_FRINGE_PX = 0.15;
/** … and those that are not sure: they must be so many times their uncertainty. */
const LEAST_SURE = 4;

/** Whether fringes are wide and sure enough to be undone. */
export function mustBeAligned({ widthPx, heightPx }: Raster, { scales, sigma }: MeasuredFringes): boolean {
  const most = Math.max(Math.abs(scales.red - 1), Math.abs(scales.blue - 1));
  return most > LEAST_SURE * sigma && (most * Math.hypot(widthPx, heightPx)) / 2 > LEAST_FRINGE_PX;
}

/** How much larger colours are drawn than green, as the markers show it. */
export interface MeasuredFringes {
  readonly scales: ColourScales;
  /** Standard uncertainty of each scale. */
  readonly sigma: number;
}

/**
 * How much larger red and blue are drawn than green, from the sides of the markers: black against white in every colour;
 * what bright areas gain there is alike on all sides and does not count. Lateral colour grows evenly from the middle of the
 * picture to first order: J. Mallon and P. F. Whelan, Pattern Recognition Letters 28 (2007) 125. Null where no marker tells.
 */
export function measureFringes(
  raster: Raster,
  markers: readonly MarkerDetection[],
  borderModules: 1 | 2,
): MeasuredFringes | null {
  if (raster.channels !== 3) return null;
  const shifts = markers.flatMap((marker) => shiftOf(raster, marker, borderModules) ?? []);
  const lever = shifts.reduce((sum, { x, y }) => sum + x * x + y * y, 0);
  if (!(lever > 0)) return null;
  const scaleOf = (colour: 'red' | 'blue'): number =>
    1 + shifts.reduce((sum, shift) => sum + shift[colour].x * shift.x + shift[colour].y * shift.y, 0) / lever;
  return { scales: { red: scaleOf('red'), blue: scaleOf('blue') }, sigma: SHIFT_SIGMA_PX / Math.sqrt(lever) };
}

interface ShiftOfMarker {
  /** Its middle, from the middle of the picture, px. */
  readonly x: number;
  readonly y: number;
  /** How far each colour lies from green. */
  readonly red: ShiftPx;
  readonly blue: ShiftPx;
}

/** To the right and down in the photo. */
interface ShiftPx {
  readonly x: number;
  readonly y: number;
}

function shiftOf(raster: Raster, marker: MarkerDetection, borderModules: 1 | 2): ShiftOfMarker | null {
  const corners = marker.cornersInPhoto;
  const sides = corners.map((from, i) => sideOf(raster, from, corners[(i + 1) % 4], borderModules));
  if (sides.includes(null)) return null;
  const shiftIn = (colour: 0 | 2): ShiftPx => {
    // The shift, and what the bright side gains, give how far the side lies outwards of green.
    const normal = new Float64Array(9);
    const right = new Float64Array(3);
    for (const side of sides as SideColours[]) {
      const row = [side.nx, side.ny, 1];
      for (let a = 0; a < 3; a++) {
        right[a] += row[a] * (side.outwardsPx[colour] - side.outwardsPx[1]);
        for (let b = 0; b < 3; b++) normal[3 * a + b] += row[a] * row[b];
      }
    }
    choleskyInPlace(normal, 3);
    const [x, y] = choleskySolve(normal, 3, right);
    return { x, y };
  };
  const mean = (axis: 'x' | 'y'): number => corners.reduce((sum, corner) => sum + corner[axis] / 4, 0);
  return {
    x: mean('x') - (raster.widthPx - 1) / 2,
    y: mean('y') - (raster.heightPx - 1) / 2,
    red: shiftIn(0),
    blue: shiftIn(2),
  };
}

/** Where red, green and blue have the edge of one side of a marker. */
interface SideColours {
  /** Unit normal, outwards. */
  readonly nx: number;
  readonly ny: number;
  /** Of each colour's edge from the side as detected. */
  readonly outwardsPx: readonly [number, number, number];
}

/** @param from corners go round clockwise in the picture, so that outwards is to the left of the way to the next */
function sideOf(raster: Raster, from: PhotoPoint, to: PhotoPoint, borderModules: 1 | 2): SideColours | null {
  const lengthPx = Math.hypot(to.x - from.x, to.y - from.y);
  const modulePx = lengthPx / (CODE_SIDE + 2 * borderModules);
  const reach = Math.min(MOST_REACH_PX, REACH_MODULES * modulePx);
  if (reach < LEAST_REACH_PX) return null;
  const [tx, ty] = [(to.x - from.x) / lengthPx, (to.y - from.y) / lengthPx];
  const [nx, ny] = [ty, -tx];
  const count = 2 * Math.round(reach / STEP_PX) + 1;
  const across = new Float64Array(3 * count);
  const first = ENDS_LEFT_OUT * lengthPx;
  for (let along = first; along <= lengthPx - first; along++)
    for (let i = 0; i < count; i++) {
      const t = (i - (count - 1) / 2) * STEP_PX;
      if (!addColours(raster, from.x + along * tx + t * nx, from.y + along * ty + t * ny, across, 3 * i)) return null;
    }
  const outwards = [0, 1, 2].map((colour) => edgeIn(across, count, colour, Math.ceil(lengthPx - 2 * first)));
  if (outwards.includes(null)) return null;
  return { nx, ny, outwardsPx: outwards as [number, number, number] };
}

/** Adds the three colours at a place, bilinear; false outside the picture. */
function addColours({ widthPx, heightPx, data }: Raster, x: number, y: number, sum: Float64Array, at: number): boolean {
  const [x0, y0] = [Math.floor(x), Math.floor(y)];
  if (x0 < 0 || y0 < 0 || x0 + 1 >= widthPx || y0 + 1 >= heightPx) return false;
  const [fx, fy] = [x - x0, y - y0];
  const p = 3 * (y0 * widthPx + x0);
  const q = p + 3 * widthPx;
  for (let c = 0; c < 3; c++) {
    const above = data[p + c] + fx * (data[p + 3 + c] - data[p + c]);
    const below = data[q + c] + fx * (data[q + 3 + c] - data[q + c]);
    sum[at + c] += above + fy * (below - above);
  }
  return true;
}

/**
 * Where black goes over into white: where an ideal step would have to be for the area between the two levels to be the same.
 * Unlike a fitted edge it does not move when colour is coded at half the resolution of brightness.
 * @param summed of how many places about the values are sums
 */
function edgeIn(across: Float64Array, count: number, colour: number, summed: number): number | null {
  let [black, white] = [0, 0];
  for (let i = 0; i < LEVEL_STEPS; i++) {
    black += across[3 * i + colour] / LEVEL_STEPS;
    white += across[3 * (count - 1 - i) + colour] / LEVEL_STEPS;
  }
  if (white - black < LEAST_CONTRAST * summed) return null;
  let dark = 0;
  for (let i = 0; i < count; i++) dark += (white - across[3 * i + colour]) / (white - black);
  return (dark - count / 2) * STEP_PX;
}
