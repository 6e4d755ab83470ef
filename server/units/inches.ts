export const mmPerInch = 25.4; // exactly, by the international agreement of 1959

/** Binary denominators that a tape or rule carries. */
export type FractionDenominator = 16 | 32 | 64;

/** Rounds to the nearest whole fraction of an inch, half to even (ASTM E29). */
export function roundToFraction(lengthMm: number, denominator: number): number {
  return roundHalfToEven((lengthMm / mmPerInch) * denominator);
}

/**
 * Writes a length as inches with a binary fraction, reduced: 50.8 mm → `2 in`, 52.3875 mm → `2 1/16 in`.
 * @param lengthMm millimetres, any sign
 */
export function formatInches(lengthMm: number, denominator: FractionDenominator = 16): string {
  const parts = roundToFraction(Math.abs(lengthMm), denominator);
  const sign = lengthMm < 0 && parts !== 0 ? '−' : '';
  const whole = Math.floor(parts / denominator);
  let numerator = parts - whole * denominator;
  let bottom: number = denominator;
  while (numerator > 0 && numerator % 2 === 0) {
    numerator /= 2;
    bottom /= 2;
  }
  if (numerator === 0) return `${sign}${whole} in`;
  return whole === 0 ? `${sign}${numerator}/${bottom} in` : `${sign}${whole} ${numerator}/${bottom} in`;
}

function roundHalfToEven(x: number): number {
  const floor = Math.floor(x);
  const rest = x - floor;
  if (Math.abs(rest - 0.5) < 1e-9) return floor % 2 === 0 ? floor : floor + 1;
  return Math.round(x);
}
