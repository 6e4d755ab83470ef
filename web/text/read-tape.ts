import type { SideCheck, TapeCheck } from '../../server/contract/tables.js';
import { coverage95 } from '../../server/units/estimate.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { parseLength } from './parse-length.js';

/** What stands in the fields of a tape check, as typed. */
export interface TypedTape {
  /** `markers`, or the name of the table side that was measured. */
  readonly what: string;
  readonly from: string;
  readonly to: string;
  readonly length: string;
  /** By how much the tape may be wrong, either way; may stay empty. */
  readonly within: string;
}

export type TapeField = Exclude<keyof TypedTape, 'what'>;

export const betweenMarkers = 'markers';

export const emptyTape: TypedTape = { what: betweenMarkers, from: '', to: '', length: '', within: '' };

/** A read tape check, or for each field that is wrong what to type there instead. */
export type ReadTape =
  | { readonly ok: true; readonly tape: TapeCheck | SideCheck }
  | { readonly ok: false; readonly wrong: Readonly<Partial<Record<TapeField, string>>> };

/** Highest id of the marker family. */
const lastMarker = 586;
/** No tape is laid over less than 2 in, none over more than 100 ft. */
const rangeMm = [50.8, 30480] as const;

/** Reads the fields of a tape check. @param unit what a bare number means */
export function readTape(typed: TypedTape, unit: LengthStyle['unit']): ReadTape {
  const wrong: Partial<Record<TapeField, string>> = {};
  const example = unit === 'in' ? '72 1/16 or 1830 mm' : '1830 or 72 1/16 in';
  const lengthMm = parseLength(typed.length, unit);
  if (lengthMm === null) wrong.length = `Type a length such as ${example}.`;
  else if (lengthMm < rangeMm[0] || lengthMm > rangeMm[1])
    wrong.length = unit === 'in' ? 'It must be between 2 and 1200 in.' : 'It must be between 51 and 30480 mm.';
  const withinMm = typed.within.trim() === '' ? null : parseLength(typed.within, unit);
  if (typed.within.trim() !== '') {
    if (withinMm === null || withinMm === 0)
      wrong.within = `Type a length such as ${unit === 'in' ? '1/16 or 1 mm' : '1 or 1/16 in'}, or leave it empty.`;
    else if (lengthMm !== null && withinMm > lengthMm / 10) wrong.within = 'That is more than a tenth of the length.';
  }
  if (typed.what === betweenMarkers) {
    for (const field of ['from', 'to'] as const) {
      const id = /^\s*\d{1,3}\s*$/.test(typed[field]) ? Number(typed[field]) : Number.NaN;
      if (!(id <= lastMarker)) wrong[field] = `Type the number on the sheet, 0 to ${lastMarker}.`;
    }
    if (!wrong.from && !wrong.to && Number(typed.from) === Number(typed.to)) wrong.to = 'That is the same marker.';
  }
  if (lengthMm === null || Object.keys(wrong).length > 0) return { ok: false, wrong };
  const measured = { lengthMm, uMm: withinMm === null ? null : withinMm / coverage95 };
  return typed.what === betweenMarkers
    ? { ok: true, tape: { from: Number(typed.from), to: Number(typed.to), ...measured } }
    : { ok: true, tape: { side: typed.what, ...measured } };
}
