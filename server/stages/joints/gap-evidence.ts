import type { GapInTrail } from './table-spans.js';

/** What was seen of a stretch between two ends that face each other. */
export interface GapEvidence {
  readonly gapMm: number;
  /** How clear its two ends are, 0 to 1, … */
  readonly clearness: readonly [number, number];
  /** … and the heads alone at the vaguer of them. */
  readonly heads: number;
  /** Share of its places that look like the table beside the track. */
  readonly table: number;
  /** What shows in the place of the flanges; null where that is not told. */
  readonly shown: GapInTrail | null;
}

/** An end of a stretch without rails is none when it is less clear than this, … */
export const leastClearness = 0.22;

/** … and one that is looked for all along a run when it is less clear than this. */
export const pairClearness = 0.5;

/** A long gap looks much like covered track: its ends must be clearer. */
export const longGapMm = 90;
const longGapClearness = 0.5;

/**
 * Where flanges are known they may not show through a gap more plainly than this; where they seem to, its ends must be
 * the clearer: rust on all rails at one place changes them too.
 */
const leastWithin = -0.5;
const clearnessByFlanges = 0.3;
/** Unless both ends are as clear as can be and flanges show there much less than beside: so it is on a table in the shade. */
const shaded = { clearness: 0.95, step: 1 };

/** Whether so much speaks against a gap that nothing more need be looked at. */
export function cannotBeGap({ gapMm, clearness, shown }: Omit<GapEvidence, 'heads' | 'table'>): boolean {
  const least = Math.min(...clearness);
  if (gapMm > longGapMm && least < longGapClearness) return true;
  if (!shown || shown.within >= 0 || (least > shaded.clearness && shown.step > shaded.step)) return false;
  return shown.within < leastWithin || least < pairClearness - clearnessByFlanges * shown.within;
}

/**
 * Where flanges and table look too much alike for it to be told which of them shows, one end must be as clear as can be, or
 * else table and heads' ends plain: so it is with those of 230 drawn gaps that show so vaguely, and not with two false ones.
 */
const vagueTrail = { within: 0.6, clearEnd: 0.9, step: 0.2, table: 0.9, heads: 0.45 };

/**
 * However clear the ends are that rust makes along a run: where one end is as clear as can be, the other and the heads at both
 * end plainly, and as good as nothing but table lies between, there is a gap.
 */
const plainAnyway = { clearEnd: 0.9, clearness: 0.55, heads: 0.75, table: 0.95 };

/**
 * Whether a stretch that may be a gap is one.
 * @param tableNeeded share of its places that must look like table for ends so clear, if the flanges' place tells nothing
 */
export function isGap(seen: GapEvidence, tableNeeded: number): boolean {
  const { clearness, heads, table, shown } = seen;
  const [clearer, vaguer] = [Math.max(...clearness), Math.min(...clearness)];
  const endTells = clearer >= vagueTrail.clearEnd && shown !== null && shown.step > vagueTrail.step;
  const isVague = shown !== null && shown.within < vagueTrail.within && !endTells;
  if (isVague && (table < vagueTrail.table || heads < vagueTrail.heads)) return false;
  const isPlain = clearer > plainAnyway.clearEnd && vaguer > plainAnyway.clearness && heads > plainAnyway.heads;
  return table >= Math.min(tableNeeded, isPlain ? plainAnyway.table : never, tableForShown(seen));
}

/**
 * Where the table shows this plainly, more than beside the gap, heads that end so clearly are enough, or all parts
 * together: less clearly over more than a tie hides, as rust and a tie at a gap's ends leave little of the rails to go by.
 * Of 400 drawn gaps those that need it show the table by 2.3 and more above what is beside them, and by 1.7 one that is too
 * wide, which its true part is found by; where a wagon’s shade begins on a white table it was 1.2.
 */
const plainWithin = 1;
const plainStep = 1.5;
const headsClearness = 0.7;
const tieMm = 16;
const shownTable = { overTie: 0.75, shorter: 0.85 };
const bothClearness = { overTie: 0.6, shorter: 0.9 };
const eachClearness = { overTie: 0.15, shorter: 0.3 };
/**
 * Where one end is as clear as can be and the table shows so much more plainly than beside the gap, the other may be this vague:
 * the heads, rusty there, may hardly change.
 */
const oneEnd = { clearness: 0.9, other: 0.4, step: 2.5, table: 0.6 };
/** Where the heads hardly change nothing ends: a flange in the sun, or a cover's edge, passes for table. */
const leastHeads = { overTie: 0, shorter: 0.15 };

/** Heads that end less clearly than this do not make up for table that does not show. */
const vagueHeads = 0.5;

/** Share of an open gap's places that must look like table; less where both ends are plain, as pins fill a short gap. */
export const leastTable = 0.7;
const plainTable = 0.4;
export const plainClearness = 0.8;

/**
 * Pins may fill much of a gap: where table shows so plainly in the flanges' place, less of it must beside the pins. A dark tie
 * on a dark table passes for table as plainly, but both ends that it makes are less clear than this.
 */
const filled = { within: 1.75, step: 3, clearEnd: 0.8 };

/** Whether table shows as plainly as can be in the flanges' place. */
const isPlainest = ({ within, step }: GapInTrail): boolean => within > filled.within && step > filled.step;

/** Never: more than all of a gap's places. */
export const never = 2;

/**
 * Share of a gap's places that must look like table where it shows plainly in the flanges' place. Pins fill a short gap, and
 * a dark tie that hides the flanges may pass for table in the shade; but at a gap's ends the heads end too.
 */
function tableForShown({ gapMm, clearness, heads, shown }: GapEvidence): number {
  if (!shown || shown.within <= plainWithin || shown.step <= plainStep) return never;
  if (heads > headsClearness) return plainTable;
  const [clearer, vaguer] = [Math.max(...clearness), Math.min(...clearness)];
  const byOneEnd = clearer > oneEnd.clearness && vaguer > oneEnd.other && shown.step > oneEnd.step;
  return Math.min(byOneEnd ? oneEnd.table : never, tableForBoth(gapMm, [clearer, vaguer], heads, shown));
}

/** The same where both ends must be told, by all parts together and by the heads. */
function tableForBoth(
  gapMm: number,
  [clearer, vaguer]: readonly [number, number],
  heads: number,
  shown: GapInTrail,
): number {
  const length = gapMm > tieMm ? 'overTie' : 'shorter';
  if (heads < leastHeads[length] || clearer + vaguer <= bothClearness[length] || vaguer <= eachClearness[length])
    return never;
  if (length === 'shorter' && clearer > filled.clearEnd && isPlainest(shown)) return plainTable;
  // The more clearly the heads end, too, the less: from a little on to where that alone is enough.
  const vague = Math.min(1, (headsClearness - heads) / (headsClearness - vagueHeads));
  return plainTable + vague * (shownTable[length] - plainTable);
}

/** Where nothing but two ends speaks for a gap, and these are not clear, what lies between must be table for sure. */
const fairClearness = 0.62;
const sureTable = 0.9;
const spanTable = 0.85;

/** Share of a gap's places that must look like table when nothing but two ends so clear speaks for it. */
export function tableForPair(clearness: number, noise: number): number {
  if (clearness < Math.max(pairClearness, 0.85 * noise)) return never;
  if (clearness > Math.max(plainClearness, 1.3 * noise)) return plainTable;
  return clearness < Math.max(fairClearness, 1.2 * noise) ? sureTable : leastTable;
}

/** How clear two ends are together: where rails are missing between them a plain end makes up for a part of a vague one. */
export const bothEnds = (a: number, b: number): number => 0.75 * Math.min(a, b) + 0.25 * Math.max(a, b);

/** The same when rails are missing there: less the clearer the ends are. */
export function tableForSpan(clearness: number, noise: number): number {
  const least = Math.max(leastClearness, 0.7 * noise);
  if (clearness < least) return never;
  const clear = Math.min(1, (clearness - least) / Math.max(1e-9, noise - least));
  return clearness >= noise ? leastTable : spanTable + clear * (leastTable - spanTable);
}

/** So plainly table must show in a gap of which the table alone tells an end, and so much more plainly than beside it. */
export const surelyWithin = 1.5;
const surelyStep = 2;
const filledTable = 0.8;

/** Whether table shows all through a gap, from where it begins to show at once: then it may tell an end of its own. */
export function isSurelyTable(shown: GapInTrail, table: number): boolean {
  if (shown.within < surelyWithin || shown.step < surelyStep) return false;
  return table >= (isPlainest(shown) ? filledTable : sureTable);
}

/** Where table shows as plainly as can be over more than a tie's width, one end that is told so clearly is enough for a gap. */
const aloneMm = 10;
const aloneClearness = 0.55;

/** Whether a gap, one end of which the table alone tells, needs no other word for it. */
export function isGapByTable(shown: GapInTrail, gapMm: number, clearness: number): boolean {
  return isPlainest(shown) && gapMm > aloneMm && clearness > aloneClearness;
}
