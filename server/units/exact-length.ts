import { formatLength, type LengthStyle } from './format-length.js';
import { formatInches, mmPerInch, roundToFraction } from './inches.js';

/** A length in the user's unit first and in the other beside it. */
export interface LengthWords {
  readonly first: string;
  readonly second: string;
}

/**
 * An exact length (a stock length, a length to cut) in both units. Where the fraction is more than 0.05 mm away from
 * the millimetres it is marked ≈, so that nobody takes it for the exact length.
 */
export function bothUnits(lengthMm: number, style: LengthStyle): LengthWords {
  const offMm = Math.abs(
    (roundToFraction(lengthMm, style.denominator) / style.denominator) * mmPerInch - Math.abs(lengthMm),
  );
  const inches = `${offMm > 0.05 ? '≈ ' : ''}${formatInches(lengthMm, style.denominator)}`;
  const mm = formatLength(lengthMm, { ...style, unit: 'mm' });
  return style.unit === 'in' ? { first: inches, second: mm } : { first: mm, second: inches };
}

/** `4 in (101.6 mm)` or `101.6 mm (4 in)`. */
export function bothUnitsInLine(lengthMm: number, style: LengthStyle): string {
  const words = bothUnits(lengthMm, style);
  return `${words.first} (${words.second})`;
}

/** Marks carry the kerfs before them and fall between sixteenths: in inches they are written to 1/64, on paper and on the page. */
export function markStyle(style: LengthStyle): LengthStyle {
  return { ...style, denominator: 64 };
}

/**
 * The style with fractions as fine as a length that a person read off a rule: what was typed as 2 3/32 in must not come
 * back as 2 1/8 in.
 */
export function styleToTell(lengthMm: number, style: LengthStyle): LengthStyle {
  const told = ([16, 32, 64] as const).find((denominator) => {
    const offMm = (roundToFraction(lengthMm, denominator) / denominator) * mmPerInch - lengthMm;
    return denominator >= style.denominator && Math.abs(offMm) < 0.01;
  });
  return { ...style, denominator: told ?? 64 };
}

/** The style with fractions as fine as the steps that a plan's lengths were made in, where those are fractions of an inch. */
export function styleForStep(style: LengthStyle, stepMm: number | undefined): LengthStyle {
  const perInch = stepMm === undefined ? 0 : mmPerInch / stepMm;
  const needed = ([16, 32, 64] as const).find((denominator) => Math.abs(perInch - denominator) < 1e-3);
  return needed === undefined || needed <= style.denominator ? style : { ...style, denominator: needed };
}
