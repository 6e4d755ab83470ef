import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import { markStyle } from '../../server/units/exact-length.js';
import type { LengthStyle } from '../../server/units/format-length.js';
import { bothUnitsInLine } from './lengths.js';

type Donor = PlanWithoutAlternatives['donors'][number];

/** Where to mark a donor, from its pinned end, as the cut sheet says it: `≈ 3 63/64 in (101.0 mm)`, for each mark. */
export function marksOf({ marksMm }: Donor, style: LengthStyle): string[] {
  return marksMm.map((mm) => bothUnitsInLine(mm, markStyle(style)));
}
