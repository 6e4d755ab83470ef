/** Repeatable noise for textures and samples: pure functions of place and seed. */

/** A number in [0, 1) from two whole numbers and a seed (integer mixing as in MurmurHash3's finish, public domain). */
export function hashAt(x, y, seed) {
  let h = Math.imul(x, 0x27d4eb2d) ^ Math.imul(y, 0x165667b1) ^ Math.imul(seed, 0x9e3779b1);
  h = Math.imul(h ^ (h >>> 15), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return ((h ^ (h >>> 16)) >>> 0) / 4294967296;
}

/** Smooth noise in [-1, 1] that changes over about one unit. */
export function smoothNoise(x, y, seed) {
  const i = Math.floor(x);
  const j = Math.floor(y);
  const fx = x - i;
  const fy = y - j;
  const u = fx * fx * (3 - 2 * fx);
  const v = fy * fy * (3 - 2 * fy);
  const a = hashAt(i, j, seed);
  const b = hashAt(i + 1, j, seed);
  const c = hashAt(i, j + 1, seed);
  const d = hashAt(i + 1, j + 1, seed);
  return 2 * (a + (b - a) * u + (c + (d - c) * u - (a + (b - a) * u)) * v) - 1;
}

/** Sum of smooth noises, each half as large and twice as fine as the one before. */
export function layeredNoise(x, y, seed, layers) {
  let sum = 0;
  let size = 1;
  let total = 0;
  for (let k = 0; k < layers; k++) {
    sum += size * smoothNoise(x, y, seed + k);
    total += size;
    size *= 0.5;
    x *= 2.03;
    y *= 2.03;
  }
  return sum / total;
}

/** Uniform numbers in [0, 1) that can be restarted cheaply for each pixel (Marsaglia 2003, xorshift). */
export class SampleNumbers {
  #state = 1;

  restart(x, y, seed) {
    this.#state = (hashAt(x, y, seed) * 4294967296) | 1;
  }

  next() {
    let s = this.#state;
    s ^= s << 13;
    s ^= s >>> 17;
    s ^= s << 5;
    this.#state = s;
    return (s >>> 0) / 4294967296;
  }
}

/** Uniform numbers for choosing a layout (mulberry32, public domain, from memory). */
export function seededNumbers(seed) {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
    pick: (list) => list[Math.floor(list.length * next())],
  };
}
