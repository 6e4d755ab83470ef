import type { Report } from '../../server/contract/report.js';
import type { SideCheck, TapeCheck } from '../../server/contract/tables.js';
import { type Estimate, halfWidth95 } from '../../server/units/estimate.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { formatEstimate, formatLength } from './lengths.js';

/** Tape and photos may differ by so much of the length before it is pointed out; beyond, one of them is mistaken. */
const pointedOutShare = 0.01;

/** What a tape was laid over, in words. */
export function tapeName(tape: TapeCheck | SideCheck): string {
  return 'side' in tape ? `Table side ${tape.side}` : `Marker ${tape.from} to marker ${tape.to}`;
}

/** Its length, with ± where the person said one. */
export function tapeLength({ lengthMm, uMm }: TapeCheck | SideCheck, style: LengthStyle): string {
  return uMm === null ? formatLength(lengthMm, style) : formatEstimate({ value: lengthMm, u: uMm }, style);
}

/** Whether two tapes were laid over the same thing. */
export function isSameTape(a: TapeCheck | SideCheck, b: TapeCheck | SideCheck): boolean {
  if ('side' in a || 'side' in b) return 'side' in a && 'side' in b && a.side === b.side;
  return (a.from === b.from && a.to === b.to) || (a.from === b.to && a.to === b.from);
}

/** What to say of a tape that the measurement contradicts; null when it agrees, or nothing is measured that could tell. */
export function tapeDoubt(tape: TapeCheck | SideCheck, report: Report | null, style: LengthStyle): string | null {
  const measured = report && measuredLength(tape, report);
  if (!measured) return null;
  const allowedMm = Math.max(pointedOutShare * tape.lengthMm, halfWidth95(measured));
  if (Math.abs(measured.value - tape.lengthMm) <= allowedMm) return null;
  const look = 'side' in tape ? 'which side that is on the measured plan' : 'at the numbers on both sheets';
  return `The photos make it ${formatLength(measured.value, style)}. Look ${look}, and measure the marker’s black square again.`;
}

/** A table side as it may be chosen: with its length where that is known well enough to tell sides apart. */
export function sideChoice({ name, length }: Report['table']['sides'][number], style: LengthStyle): string {
  const known = length.u < pointedOutShare * length.value;
  return known ? `Table side ${name}, measured as ${formatLength(length.value, style)}` : `Table side ${name}`;
}

/** What the report says of the same length; between markers without its uncertainty, which the report does not tell. */
function measuredLength(tape: TapeCheck | SideCheck, report: Report): Estimate | null {
  if ('side' in tape) return report.table.sides.find((s) => s.name === tape.side)?.length ?? null;
  const [a, b] = [tape.from, tape.to].map((id) => report.markers.find((m) => m.id === id)?.centre);
  return a && b ? { value: Math.hypot(b[0] - a[0], b[1] - a[1]), u: 0 } : null;
}
