import { hashAt, layeredNoise, smoothNoise } from './noise.mjs';

/**
 * Reflectance (linear red, green, blue) of table tops and floors at a place in millimetres, written into `out`. Made of
 * noise only; nothing finer than about a quarter of a millimetre.
 */

const mix = (out, a, b, share) => {
  for (let i = 0; i < 3; i++) out[i] = a[i] + (b[i] - a[i]) * share;
};
const scale = (out, k) => {
  for (let i = 0; i < 3; i++) out[i] *= k;
};

function wood(out, x, y, seed, light, dark, strength) {
  const bend = 14 * smoothNoise(x * 0.0021, y * 0.006, seed + 5);
  const broad = layeredNoise(x * 0.0016, (y + bend) * 0.021, seed, 2);
  const fine = layeredNoise(x * 0.012, (y + bend) * 0.3, seed + 9, 2);
  const share = Math.min(1, Math.max(0, 0.5 + strength * (0.9 * broad + 0.35 * fine)));
  mix(out, light, dark, share);
}

const finishes = {
  plywood(out, x, y, f) {
    wood(out, x, y, f.seed, f.light ?? [0.56, 0.385, 0.2], f.dark ?? [0.4, 0.235, 0.1], f.strength ?? 0.75);
  },
  paint(out, x, y, f) {
    mix(out, f.colour, f.colour, 0);
    scale(
      out,
      1 + 0.05 * smoothNoise(x * 0.006, y * 0.006, f.seed) + 0.06 * smoothNoise(x * 0.55, y * 0.55, f.seed + 1),
    );
  },
  foam(out, x, y, f) {
    mix(out, f.colour, f.colour, 0);
    const spots = smoothNoise(x * 0.4, y * 0.4, f.seed);
    scale(out, 1 + 0.05 * layeredNoise(x * 0.004, y * 0.004, f.seed + 2, 2) + 0.07 * spots);
  },
  laminate(out, x, y, f) {
    mix(out, f.colour ?? [0.78, 0.76, 0.72], [0.7, 0.68, 0.64], 0.5 + 0.5 * smoothNoise(x * 0.003, y * 0.003, f.seed));
    scale(out, 1 + 0.02 * smoothNoise(x * 0.9, y * 0.9, f.seed + 3));
  },
  grass(out, x, y, f) {
    const blades = smoothNoise(x * 0.45, y * 0.3, f.seed) + 0.7 * smoothNoise(x * 0.9, y * 0.9, f.seed + 1);
    const tufts = layeredNoise(x * 0.02, y * 0.02, f.seed + 2, 3);
    mix(
      out,
      f.light ?? [0.13, 0.2, 0.03],
      f.dark ?? [0.03, 0.06, 0.012],
      Math.min(1, Math.max(0, 0.5 + 0.33 * blades + 0.3 * tufts)),
    );
  },
  door(out, x, y, f) {
    wood(out, x, y, f.seed, f.light ?? [0.33, 0.1, 0.03], f.dark ?? [0.13, 0.035, 0.012], f.strength ?? 0.7);
    if (f.panels) for (const panel of f.panels) groove(out, x, y, panel);
  },
  boards(out, x, y, f) {
    const width = f.boardWidth ?? 120;
    const board = Math.floor(y / width);
    const inside = y - board * width;
    const joint = Math.floor(x / 1100 + hashAt(board, 1, f.seed));
    wood(
      out,
      x + 700 * joint,
      y,
      f.seed + board * 13 + joint * 5,
      f.light ?? [0.42, 0.25, 0.11],
      f.dark ?? [0.27, 0.14, 0.055],
      0.6,
    );
    scale(out, 0.82 + 0.3 * hashAt(board, joint, f.seed + 4));
    const seam = f.seam ?? 0.9;
    const acrossSeam = Math.abs((x / 1100 + hashAt(board, 1, f.seed)) % 1) * 1100;
    if (inside < seam || acrossSeam < seam) scale(out, 0.3);
  },
  concrete(out, x, y, f) {
    mix(
      out,
      f.light ?? [0.13, 0.13, 0.125],
      f.dark ?? [0.07, 0.07, 0.07],
      0.5 + 0.5 * layeredNoise(x * 0.004, y * 0.004, f.seed, 3),
    );
    scale(out, 1 + 0.1 * smoothNoise(x * 0.3, y * 0.3, f.seed + 7));
  },
  carpet(out, x, y, f) {
    mix(
      out,
      f.colour ?? [0.12, 0.1, 0.09],
      [0.05, 0.05, 0.055],
      0.5 + 0.4 * smoothNoise(x * 0.25, y * 0.25, f.seed) + 0.1 * smoothNoise(x * 0.01, y * 0.01, f.seed + 1),
    );
  },
  tiles(out, x, y, f) {
    const size = f.size ?? 300;
    const [i, j] = [Math.floor(x / size), Math.floor(y / size)];
    const line = Math.min(x - i * size, y - j * size) < 5;
    mix(
      out,
      f.colour ?? [0.35, 0.3, 0.25],
      [0.15, 0.14, 0.13],
      line ? 1 : 0.15 * hashAt(i, j, f.seed) + 0.1 * smoothNoise(x * 0.03, y * 0.03, f.seed),
    );
  },
};

/** A milled line around a rectangle, half in shade and half in light. */
function groove(out, x, y, { x0, y0, x1, y1 }) {
  const off = Math.max(x0 - x, x - x1, y0 - y, y - y1);
  if (off > -4 && off < 0) scale(out, off < -2 ? 0.45 : 1.35);
  else if (off > -60 && off < -56) scale(out, off < -58 ? 1.3 : 0.55);
}

/** @param finish { kind, seed, … } */
export function reflectanceAt(finish, x, y, out) {
  finishes[finish.kind](out, x, y, finish);
}

/** Share of bare metal on old rails, 0 rust to 1 bright. */
export function brightMetal(along, around, seed, rust) {
  if (rust === 0) return 1;
  const spots = layeredNoise(along * 0.16, around * 0.3, seed, 3) + 0.5 * smoothNoise(along * 0.012, 0, seed + 3);
  return Math.min(1, Math.max(0.15, 0.5 + 6 * (spots + 0.55 - rust)));
}
