// How much the rows of a turned picture, averaged along the track, look like rails: steps of brightness that come again
// one spacing to each side.
import { take } from './best-scores';
import {
  alongHalf,
  dotRoom,
  dots,
  energy,
  half,
  heightPx,
  lag,
  lag0,
  lagLeft,
  lagRight,
  least,
  margin,
  mean,
  mixes,
  power,
  products,
  quads,
  shared,
  size,
  steepest,
  sums,
  three,
  widthPx,
  wishes,
} from './memory';
import { spanHi, spanLo } from './turned-rows';
import { isMarked } from './wanted';

/**
 * Step across the track from the line's places beside each place, limited; 0 where one of them is not in the photo, and
 * beside the span, from `clearFrom` to `clearTo`.
 */
export function slopeRow(line: usize, slope: usize, clearFrom: i32, clearTo: i32): void {
  const origin = slope + <usize>(margin * 4);
  memory.fill(origin + <usize>(clearFrom << 2), 0, <usize>((clearTo - clearFrom) << 2));
  if (spanHi <= spanLo) return;
  const most = f32x4.splat(steepest);
  for (let i = spanLo; i < spanHi; i += 4) {
    const at = <usize>(i << 2);
    const d = f32x4.sub(v128.load(line + at + 4), v128.load(line + at - 4));
    const kept = v128.and(d, f32x4.eq(d, d));
    v128.store(origin + at, f32x4.max(f32x4.neg(most), f32x4.min(most, kept)));
  }
  for (let k = 0; k < 4; k++) store<f32>(origin + <usize>((spanHi + k) << 2), 0);
}

/** Takes one row into the running sums, and another out of them, and writes the mean. */
export function meanRow(enter: usize, leave: usize, from: i32, to: i32): void {
  const count = f64x2.splat(f64(2 * alongHalf + 1));
  for (let i = from; i < to; i += 4) {
    const at = <usize>((i + margin) << 2);
    const a = v128.load(enter + at);
    const b = v128.load(leave + at);
    const sum = sums + 2 * at;
    const low = f64x2.sub(f64x2.add(v128.load(sum), f64x2.promote_low_f32x4(a)), f64x2.promote_low_f32x4(b));
    const high = f64x2.sub(
      f64x2.add(v128.load(sum, 16), f64x2.promote_low_f32x4(v128.shuffle<i64>(a, a, 1, 1))),
      f64x2.promote_low_f32x4(v128.shuffle<i64>(b, b, 1, 1)),
    );
    v128.store(sum, low);
    v128.store(sum, high, 16);
    const meanLow = f32x4.demote_f64x2_zero(f64x2.div(low, count));
    const meanHigh = f32x4.demote_f64x2_zero(f64x2.div(high, count));
    v128.store(mean + at, v128.shuffle<i64>(meanLow, meanHigh, 0, 2));
  }
}

/** out(i) = sum over −half … half of values(i + k), by sums of four. */
function windowSums(values: usize, out: usize, from: i32, to: i32): void {
  const taps = 2 * half + 1;
  const whole = taps & ~3;
  const end = to + whole;
  let a = v128.load(values + <usize>((from - half + margin) << 2));
  for (let i = from - half; i < end - half; i += 4) {
    const at = <usize>((i + margin) << 2);
    const b = v128.load(values + at + 16);
    const two = f32x4.add(a, v128.shuffle<i32>(a, b, 1, 2, 3, 4));
    const next = f32x4.add(v128.shuffle<i32>(a, b, 2, 3, 4, 5), v128.shuffle<i32>(a, b, 3, 4, 5, 6));
    v128.store(quads + at, f32x4.add(two, next));
    a = b;
  }
  for (let i = from; i < to; i += 4) {
    const first = <usize>((i - half + margin) << 2);
    let sum = v128.load(quads + first);
    let k = 4;
    for (; k < whole; k += 4) sum = f32x4.add(sum, v128.load(quads + first + <usize>(k << 2)));
    for (; k < taps; k++) sum = f32x4.add(sum, v128.load(values + first + <usize>(k << 2)));
    v128.store(out + <usize>((i + margin) << 2), sum);
  }
}

/** Row j of the means stands for the next one too: of all the rows that they are means of hardly any differ. j is even. */
export function compareRow(j: i32, from: i32, to: i32, c: f64, s: f64, index: i32): void {
  const farthest = i32(Math.floor(1.03 * lag)) + 2;
  const reach = farthest + half + 4;
  const lo = from - reach;
  const hi = to + reach;
  for (let i = lo; i < hi; i += 4) {
    const at = <usize>((i + margin) << 2);
    v128.store(products + at, f32x4.abs(v128.load(mean + at)));
  }
  windowSums(products, energy, from - lag0, to + lag0);
  if (three) {
    for (let i = lo; i < hi; i += 4) {
      const at = <usize>((i + margin) << 2);
      const a = v128.load(mean + at);
      v128.store(products + at, f32x4.mul(a, a));
    }
    windowSums(products, power, from - farthest, to + farthest);
    const ahead = <usize>(lag0 << 2);
    for (let i = from - lag0 - half; i < to + half + 4; i += 4) {
      const at = <usize>((i + margin) << 2);
      v128.store(products + at, f32x4.mul(v128.load(mean + at), v128.load(mean + at + ahead)));
    }
    windowSums(products, shared, from - lag0, to);
  }
  const enough = f32x4.splat(least);
  const four = f32x4.splat(4);
  const zero = f32x4.splat(0);
  const share = f32x4.splat(0.04);
  const left = <usize>(lagLeft << 2);
  const right = <usize>(lagRight << 2);
  for (let i = from; i < to; i += 4) {
    if (wishes != 0 && !isMarked(i, j)) continue;
    const at = <usize>((i + margin) << 2);
    const l = v128.load(energy + at - left);
    const r = v128.load(energy + at + right);
    let possible = v128.and(
      v128.and(f32x4.ge(l, enough), f32x4.ge(r, enough)),
      v128.and(f32x4.le(l, f32x4.mul(four, r)), f32x4.le(r, f32x4.mul(four, l))),
    );
    if (!v128.any_true(possible)) continue;
    if (three) {
      const own = v128.load(energy + at);
      possible = v128.and(
        possible,
        v128.and(f32x4.ge(own, enough), v128.and(f32x4.le(own, f32x4.mul(four, l)), f32x4.le(l, f32x4.mul(four, own)))),
      );
      // Where the neighbours do not agree at the nominal spacing they do not agree a fraction of a pixel beside it.
      const toLeft = v128.load(shared + at - left);
      const toRight = v128.load(shared + at);
      const ownPower = f32x4.mul(share, v128.load(power + at));
      possible = v128.and(
        possible,
        v128.and(
          v128.and(
            f32x4.gt(toLeft, zero),
            f32x4.gt(f32x4.mul(toLeft, toLeft), f32x4.mul(ownPower, v128.load(power + at - left))),
          ),
          v128.and(
            f32x4.gt(toRight, zero),
            f32x4.gt(f32x4.mul(toRight, toRight), f32x4.mul(ownPower, v128.load(power + at + left))),
          ),
        ),
      );
      if (!v128.any_true(possible)) continue;
    }
    const best = v128.and(bestMatch(at), possible);
    if (!v128.any_true(f32x4.gt(best, zero))) continue;
    takeFour(j, i, best, c, s, index);
    takeFour(j + 1, i, best, c, s, index);
  }
}

/** The best of three lags: the least of the correlations with both neighbours, in brightness steps; 0 unless all is well. */
function bestMatch(at: usize): v128 {
  const zero = f32x4.splat(0);
  if (!three) {
    let best = zero;
    for (let k = -1; k <= 1; k++) {
      const l = (1 + 0.03 * f64(k)) * lag;
      best = f32x4.pmax(best, correlate(at + <usize>(i32(Math.floor(-l / 2)) << 2), l));
    }
    return best;
  }
  const first = load<i32>(mixes, 48);
  const last = load<i32>(mixes, 128 + 48) + 1;
  productsAt(at, first, last, 1);
  let some = zero;
  for (let k = 0; k < 3; k++) {
    const value = matched(at, k, first, 1);
    v128.store(dots + <usize>((dotRoom + k) << 4), value);
    some = v128.or(some, f32x4.gt(value, zero));
  }
  if (!v128.any_true(some)) return zero;
  productsAt(at, first, last, -1);
  let best = zero;
  for (let k = 0; k < 3; k++) {
    const value = matched(at, k, first, -1);
    best = f32x4.pmax(best, f32x4.pmin(value, v128.load(dots + <usize>((dotRoom + k) << 4))));
  }
  return best;
}

/**
 * Products of the profile here with the profiles whole lags from it to one side, and of each of those with the next: a
 * profile between two pixels is a mix of both, so its products are mixes of these.
 */
function productsAt(at: usize, first: i32, last: i32, side: i32): void {
  const near = mean + at;
  for (let whole = first; whole <= last; whole++) {
    const far = near + <usize>((side * whole) << 2);
    const next = far + <usize>(side << 2);
    let own = f32x4.splat(0);
    let ahead = f32x4.splat(0);
    for (let k = -half; k <= half; k++) {
      const off = <usize>(k << 2);
      const b = v128.load(far + off);
      own = f32x4.add(own, f32x4.mul(v128.load(near + off), b));
      ahead = f32x4.add(ahead, f32x4.mul(b, v128.load(next + off)));
    }
    const to = dots + <usize>((whole - first) << 5);
    v128.store(to, own);
    v128.store(to, ahead, 16);
  }
}

/** Correlation with the profile one of the lags to a side, in brightness steps; 0 unless it is good. */
function matched(at: usize, k: i32, first: i32, side: i32): v128 {
  const mix = mixes + <usize>(k << 6);
  const whole = load<i32>(mix, 48);
  const from = dots + <usize>((whole - first) << 5);
  const here = v128.load(mix);
  const there = v128.load(mix, 16);
  const ab = f32x4.add(f32x4.mul(here, v128.load(from)), f32x4.mul(there, v128.load(from + 32)));
  const far = power + at + <usize>((side * whole) << 2);
  const next = far + <usize>(side << 2);
  const bb = f32x4.add(
    f32x4.add(f32x4.mul(f32x4.mul(here, here), v128.load(far)), f32x4.mul(f32x4.mul(there, there), v128.load(next))),
    f32x4.mul(v128.load(mix, 32), v128.load(from, 16)),
  );
  return scored(ab, v128.load(power + at), f32x4.max(bb, f32x4.splat(0)));
}

/** How a profile between two pixels is mixed, for each lag: shares of both, twice their product, and the nearer lag. */
export function prepareMixes(): void {
  for (let k = 0; k < 3; k++) {
    const l = (1 + 0.03 * f64(k - 1)) * lag;
    const whole = i32(Math.floor(l));
    const part = l - f64(whole);
    const mix = mixes + <usize>(k << 6);
    v128.store(mix, f32x4.splat(f32(1 - part)));
    v128.store(mix, f32x4.splat(f32(part)), 16);
    v128.store(mix, f32x4.splat(f32(2 * part * (1 - part))), 32);
    store<i32>(mix, whole, 48);
  }
}

/** Correlation of the profiles at four places with those a lag farther on, in brightness steps; 0 unless it is good. */
function correlate(at: usize, l: f64): v128 {
  const whole = Math.floor(l);
  const part = f32x4.splat(f32(l - whole));
  const far = mean + at + <usize>(i32(whole) << 2);
  const near = mean + at;
  let ab = f32x4.splat(0);
  let aa = f32x4.splat(0);
  let bb = f32x4.splat(0);
  for (let k = -half; k <= half; k++) {
    const off = <usize>(k << 2);
    const a = v128.load(near + off);
    const p = v128.load(far + off);
    const b = f32x4.add(p, f32x4.mul(part, f32x4.sub(v128.load(far + off + 4), p)));
    ab = f32x4.add(ab, f32x4.mul(a, b));
    aa = f32x4.add(aa, f32x4.mul(a, a));
    bb = f32x4.add(bb, f32x4.mul(b, b));
  }
  return scored(ab, aa, bb);
}

/** Least correlation that counts. */
const leastAlike: f32 = 0.55;

function scored(ab: v128, aa: v128, bb: v128): v128 {
  const zero = f32x4.splat(0);
  const both = f32x4.mul(aa, bb);
  const needed = f32x4.mul(f32x4.splat(leastAlike * leastAlike), both);
  const good = v128.and(f32x4.ge(f32x4.mul(ab, ab), needed), v128.and(f32x4.gt(ab, zero), f32x4.gt(both, zero)));
  if (!v128.any_true(good)) return zero;
  const taps = 2 * half + 1;
  const rms = f32x4.sqrt(f32x4.div(f32x4.pmin(aa, bb), f32x4.splat(f32(taps))));
  return v128.and(good, f32x4.mul(f32x4.div(ab, f32x4.sqrt(both)), rms));
}

/** Takes the scores of four turned places over, where they are the best so far. */
function takeFour(j: i32, i: i32, values: v128, c: f64, s: f64, index: i32): void {
  const middle = f64(size - 1) / 2;
  const u = f64(i) - middle;
  const v = f64(j) - middle;
  const x = f64(widthPx - 1) / 2 + v * c + u * s;
  const y = f64(heightPx - 1) / 2 - v * s + u * c;
  take(f32x4.extract_lane(values, 0), x, y, c, s, index);
  take(f32x4.extract_lane(values, 1), x + s, y + c, c, s, index);
  take(f32x4.extract_lane(values, 2), x + 2 * s, y + 2 * c, c, s, index);
  take(f32x4.extract_lane(values, 3), x + 3 * s, y + 3 * c, c, s, index);
}
