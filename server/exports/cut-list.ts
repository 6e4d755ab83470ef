import type { Plan } from '../contract/plan.js';
import { reasonsNotToCut, saidBeforeFillers } from '../contract/plan-notices.js';
import { halfWidth95 } from '../units/estimate.js';
import { mmPerInch } from '../units/inches.js';

/** What has to be done at the bench, worked out of a plan once for all forms of the cut sheet. */
export interface CutList {
  readonly fillers: readonly FillerLine[];
  readonly donors: readonly DonorCuts[];
  readonly kerfMm: number;
  readonly cutCount: number;
  readonly pinsToFit: number;
  readonly minutes: number;
  /** Why nothing should be cut yet; empty when the measurement is good enough. */
  readonly doNotCut: readonly string[];
  /** Other things that the planner wants to be read. */
  readonly notes: readonly string[];
}

export interface FillerLine {
  readonly id: string;
  readonly lengthMm: number;
  readonly run: string;
  readonly joint: string | null;
  /** Place in plan.stretches, or null where the plan does not say. */
  readonly stretch: number | null;
  readonly gap: { readonly value: number; readonly u: number } | null;
  /** The 95 % half width of the measured gap is larger than half a step of the lengths. */
  readonly finerThanMeasured: boolean;
  readonly donor: string | null;
  /** The whole donor, without a cut. */
  readonly whole: boolean;
  /** Does the piece hold the donor's pinned end, and so its three pins? */
  readonly keepsPins: boolean;
  /** Ends at which three pins have to be fitted or pulled out. */
  readonly fitPinsAt: number;
  readonly pullPinsAt: number;
}

export interface DonorCuts {
  readonly id: string;
  readonly lengthMm: number;
  /** Used as it is, without a cut. */
  readonly whole: boolean;
  /** A section that the plan takes out of the layout. */
  readonly freed: boolean;
  readonly pieces: readonly DonorPiece[];
  readonly cuts: readonly Cut[];
  /** What lies beyond the last mark and kerf, millimetres. */
  readonly offcutMm: number;
  /** A rest thinner than the blade cannot be sawn off: it is filed away. */
  readonly fileAwayMm: number;
  /** Where each tie should sit when the saw starts, from the pinned end, millimetres. */
  readonly tiesMm: readonly number[];
  /** Pieces without a tie of this donor: they need one from elsewhere, with its insulator. */
  readonly tiesToAdd: readonly string[];
}

export interface DonorPiece {
  readonly filler: string;
  /** What the filler is cut to; marks are sums, and may differ from it in the last digit. */
  readonly lengthMm: number;
  readonly fromMm: number;
  readonly toMm: number;
}

export interface Cut {
  /** 1 is the first cut of this donor. */
  readonly order: number;
  /** The saw cuts beyond this mark, millimetres from the face of the rail at the pinned end. */
  readonly markMm: number;
  readonly kerfMm: number;
}

const usualKerfMm = 1.0; // hacksaw, common practice, no source
const sameMm = 0.05;
const minutesPerCut = 5; // common practice, no source
const minutesToSetUp = 10; // common practice, no source

/** Works the bench work out of a plan. Marks count from the face of the rail at the donor's pinned end. */
export function cutListOf(plan: Plan): CutList {
  const kerfMm = plan.kerfMm ?? kerfFromMarks(plan) ?? usualKerfMm;
  const donors = plan.donors.filter((d) => d.pieces.length > 0).map((d) => donorCuts(plan, d, kerfMm));
  const cutCount = donors.reduce((sum, d) => sum + d.cuts.length, 0);
  const fillers = plan.fillers.map((f) => fillerLine(plan, f));
  return {
    fillers,
    donors,
    kerfMm,
    cutCount,
    pinsToFit: 3 * fillers.reduce((sum, f) => sum + f.fitPinsAt, 0),
    minutes: cutCount === 0 ? 0 : minutesToSetUp + minutesPerCut * cutCount,
    doNotCut: reasonsNotToCut(plan),
    notes: plan.warnings.filter((w) => !saidBeforeFillers.includes(w.code)).map((w) => w.message),
  };
}

const longestTag = 8;

/** What a donor is called in tables: its own name where all of them are short, or else its number on the sheet. */
export function donorTag(list: CutList, id: string): string {
  if (list.donors.every((d) => d.id.length <= longestTag)) return id;
  return `no. ${list.donors.findIndex((d) => d.id === id) + 1}`;
}

/** Its tag, and its whole name where the tag is only a number. */
export function donorName(list: CutList, id: string): string {
  const tag = donorTag(list, id);
  return tag === id ? calledDonor(id) : `Donor ${tag}: ${id}`;
}

/** A name with the word donor before it, unless it begins with that word itself. */
export function calledDonor(id: string): string {
  return /^donor\b/i.test(id) ? id : `Donor ${id}`;
}

function fillerLine(plan: Plan, filler: Plan['fillers'][number]): FillerLine {
  const donor = plan.donors.find((d) => d.pieces.includes(filler.id));
  const stretch = plan.stretches.findIndex((s) => s.made.some((m) => 'filler' in m && m.filler === filler.id));
  const gap = filler.gap ?? null;
  return {
    id: filler.id,
    lengthMm: filler.lengthMm,
    run: filler.run,
    joint: filler.joint ?? null,
    stretch: stretch < 0 ? null : stretch,
    gap,
    finerThanMeasured: gap !== null && halfWidth95(gap) > (plan.stepMm ?? mmPerInch / 16) / 2,
    donor: donor?.donor ?? null,
    whole: filler.cut === false,
    ...pinWork(filler, donor !== undefined && donor.pieces[0] === filler.id),
  };
}

/** The plan knows its neighbours' pins where it can; else every filler needs pins at one end and none at the other. */
function pinWork(
  filler: Plan['fillers'][number],
  keepsPins: boolean,
): { keepsPins: boolean; fitPinsAt: number; pullPinsAt: number } {
  if (filler.ends === undefined) return { keepsPins, fitPinsAt: keepsPins ? 0 : 1, pullPinsAt: 0 };
  const count = (work: string) => filler.ends?.filter((end) => end.work === work).length ?? 0;
  return { keepsPins, fitPinsAt: count('fit-pins'), pullPinsAt: count('pull-pins') };
}

function kerfFromMarks(plan: Plan): number | null {
  for (const donor of plan.donors) {
    const second = plan.fillers.find((f) => f.id === donor.pieces[1]);
    if (second !== undefined) return Math.max(0, donor.marksMm[1] - donor.marksMm[0] - second.lengthMm);
  }
  return null;
}

function donorCuts(plan: Plan, donor: Plan['donors'][number], kerfMm: number): DonorCuts {
  const lengths = new Map(plan.fillers.map((f) => [f.id, f.lengthMm]));
  const pieces = donor.pieces.map((filler, i) => {
    const toMm = donor.marksMm[i];
    const lengthMm = lengths.get(filler) ?? toMm;
    return { filler, lengthMm, fromMm: Math.max(0, toMm - lengthMm), toMm };
  });
  const lastMm = pieces[pieces.length - 1].toMm;
  const restMm = donor.lengthMm - lastMm;
  const sawsLast = restMm >= Math.max(kerfMm, sameMm);
  const sawn = sawsLast ? pieces : pieces.slice(0, -1);
  const offcutMm = sawsLast ? Math.max(0, restMm - kerfMm) : 0;
  return {
    id: donor.donor,
    lengthMm: donor.lengthMm,
    whole: sawn.length === 0 && restMm <= sameMm,
    freed: donor.freed ?? false,
    pieces,
    cuts: sawn.map((piece, i) => ({ order: i + 1, markMm: piece.toMm, kerfMm })),
    offcutMm,
    fileAwayMm: sawsLast || restMm <= sameMm ? 0 : restMm,
    ...tiePlaces(donor.lengthMm, pieces, offcutMm, (id) => plan.fillers.find((f) => f.id === id)?.ties),
  };
}

/** Shorter sections than this carry two ties, full ones three (common practice, no source). */
const threeTiesFromMm = 180;
const secondTieFromMm = 120;
const tieToEndMm = 25;

/**
 * Spreads a donor's ties over what it is cut into, keeping their order along the rails: one in the middle of each
 * filler first, then a second one for long fillers, and what is left on the offcut.
 */
function tiePlaces(
  lengthMm: number,
  pieces: readonly DonorPiece[],
  offcutMm: number,
  planned: (filler: string) => number | undefined,
): { tiesMm: number[]; tiesToAdd: string[] } {
  const wanted = pieces.map((p) => planned(p.filler) ?? (p.lengthMm >= secondTieFromMm ? 2 : 1));
  let left = lengthMm >= threeTiesFromMm ? 3 : 2;
  const share = pieces.map(() => {
    if (left === 0) return 0;
    left -= 1;
    return 1;
  });
  const longestFirst = pieces.map((_, i) => i).sort((a, b) => pieces[b].lengthMm - pieces[a].lengthMm);
  for (const i of longestFirst) {
    const more = Math.max(0, Math.min(left, wanted[i] - share[i]));
    share[i] += more;
    left -= more;
  }
  const tiesMm = pieces.flatMap((piece, i) => placesIn(piece.fromMm, piece.toMm, share[i]));
  if (left > 0 && offcutMm >= 2 * tieToEndMm) tiesMm.push(...placesIn(lengthMm - offcutMm, lengthMm, left));
  return { tiesMm, tiesToAdd: pieces.filter((_, i) => share[i] === 0).map((p) => p.filler) };
}

function placesIn(fromMm: number, toMm: number, count: number): number[] {
  if (count === 0) return [];
  if (count === 1) return [(fromMm + toMm) / 2];
  const inset = Math.min(tieToEndMm, (toMm - fromMm) / (2 * count));
  return Array.from({ length: count }, (_, i) => fromMm + inset + ((toMm - fromMm - 2 * inset) * i) / (count - 1));
}
