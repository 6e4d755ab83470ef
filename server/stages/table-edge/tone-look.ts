/** Added to tone before the logarithm, so that black noise does not count. */
const darkFloor = 0.08;
/** Steps of tone at which logarithms are looked up; linear between them they are right to 2e-6. */
const toneSteps = 4096;
const logAtStep = Float64Array.from({ length: toneSteps + 2 }, (_, i) => Math.log(i / toneSteps + darkFloor));

/** Logarithm of a tone, 0…1, with the dark floor. */
function logTone(tone: number): number {
  const at = toneSteps * Math.min(1, tone);
  const low = at | 0;
  return logAtStep[low] + (at - low) * (logAtStep[low + 1] - logAtStep[low]);
}

/** What one colour (tone of red, green and blue) looks like: lightness, red–green, blue–green. */
export function lookOfTone(red: number, green: number, blue: number, out: Float64Array): void {
  const r = logTone(red);
  const g = logTone(green);
  const b = logTone(blue);
  out[0] = (r + g + b) / 3;
  out[1] = r - g;
  out[2] = b - g;
}

/** Mean of three pixels in a row of tone; the first and the last are kept. */
function smoothedAcross(tone: Float32Array, from: number, out: Float32Array): void {
  const length = out.length;
  for (let c = 0; c < 3; c++) {
    out[c] = tone[from + c];
    out[length - 3 + c] = tone[from + length - 3 + c];
  }
  for (let i = 3; i < length - 3; i++) out[i] = (tone[from + i - 3] + tone[from + i] + tone[from + i + 3]) / 3;
}

/**
 * What each pixel looks like, as `lookOfTone` says, interleaved. The mean of 3 × 3 pixels takes most of the noise of a dim
 * photo out of the colour; the border is kept.
 * @param tone three channels, row by row, interleaved
 * @param look is filled
 */
export function fillLook(tone: Float32Array, widthPx: number, heightPx: number, look: Float32Array): void {
  const length = 3 * widthPx;
  // Three rows at a time: a whole picture of means would be memory that is touched once.
  let [above, here, below, calm] = [0, 1, 2, 3].map(() => new Float32Array(length));
  smoothedAcross(tone, 0, here);
  for (let y = 0; y < heightPx; y++) {
    const isRim = y === 0 || y === heightPx - 1;
    if (y < heightPx - 1) smoothedAcross(tone, (y + 1) * length, below);
    calm.set(here);
    if (!isRim) for (let i = 3; i < length - 3; i++) calm[i] = (above[i] + here[i] + below[i]) / 3;
    for (let i = 0; i < length; i++) calm[i] = logTone(calm[i]);
    for (let i = 0, to = y * length; i < length; i += 3, to += 3) {
      look[to] = (calm[i] + calm[i + 1] + calm[i + 2]) / 3;
      look[to + 1] = calm[i] - calm[i + 1];
      look[to + 2] = calm[i + 2] - calm[i + 1];
    }
    [above, here, below] = [here, below, above];
  }
}
