/** A piece to be cut. Lengths in millimetres throughout. */
export interface PieceToCut {
  readonly id: string;
  readonly lengthMm: number;
}

export interface DonorAtHand {
  readonly id: string;
  readonly lengthMm: number;
}

export interface DonorCut {
  readonly donor: DonorAtHand;
  /** In the order of cutting, from the donor's pinned end. */
  readonly pieces: readonly PieceToCut[];
  /** Where each piece ends, from the pinned end, kerfs counted. */
  readonly marksMm: readonly number[];
  readonly offcutMm: number;
}

export interface CutOptions {
  readonly kerfMm: number;
  /** An offcut from this length on is worth keeping. */
  readonly reusableOffcutMm: number;
  /** Steps of the search before the best cutting found so far is taken. */
  readonly steps?: number;
}

export interface CutResult {
  readonly cuts: readonly DonorCut[];
  /** False when the search was stopped before it had seen everything. */
  readonly proved: boolean;
}

/** Ends closer than this to the donor's end are its end: far below what a file takes off. */
const endToleranceMm = 0.02;

/**
 * Do these pieces come out of a donor? Every piece costs its kerf, but one that ends where the donor ends needs no cut.
 */
export function fitsDonor(lengthsMm: readonly number[], donorMm: number, kerfMm: number): boolean {
  if (lengthsMm.length === 0) return true;
  const sum = lengthsMm.reduce((a, b) => a + b, 0);
  const toLastMark = sum + (lengthsMm.length - 1) * kerfMm;
  return toLastMark + kerfMm <= donorMm + 1e-6 || Math.abs(toLastMark - donorMm) <= endToleranceMm;
}

/**
 * Assigns pieces to donors: fewest donors, then least waste (kerfs aside, what is too short to keep), then the longest
 * offcut. Exact branch and bound; equal pieces, equal donors and states seen before are not tried twice.
 * @returns null when the pieces do not come out of the donors
 */
export function cutDonors(
  pieces: readonly PieceToCut[],
  donors: readonly DonorAtHand[],
  options: CutOptions,
): CutResult | null {
  return new DonorSearch(pieces, donors, options).run();
}

/** Can all of these be cut from the donors? A quick look: what it says no to may still be possible. */
export function fitsDonors(lengthsMm: readonly number[], donors: readonly DonorAtHand[], kerfMm: number): boolean {
  const pieces = lengthsMm.map((lengthMm, i) => ({ id: String(i), lengthMm }));
  return cutDonors(pieces, donors, { kerfMm, reusableOffcutMm: 0, steps: 2000 }) !== null;
}

interface Score {
  readonly donors: number;
  readonly wasteMm: number;
  readonly longestMm: number;
}

class DonorSearch {
  private readonly pieces: readonly PieceToCut[];
  private readonly donors: readonly DonorAtHand[];
  private readonly load: PieceToCut[][];
  private readonly seen = new Set<string>();
  private stepsLeft: number;
  private stopped = false;
  private best: { score: Score; load: PieceToCut[][] } | null = null;

  constructor(
    pieces: readonly PieceToCut[],
    donors: readonly DonorAtHand[],
    private readonly options: CutOptions,
  ) {
    this.pieces = [...pieces].sort((a, b) => b.lengthMm - a.lengthMm);
    this.donors = usefulDonors(this.pieces, donors);
    this.load = this.donors.map(() => []);
    this.stepsLeft = options.steps ?? 60_000;
  }

  run(): CutResult | null {
    this.place(0, 0);
    if (this.best === null) return null;
    const cuts = this.best.load.flatMap((load, d) => (load.length === 0 ? [] : [this.cutOf(this.donors[d], load)]));
    return { cuts, proved: !this.stopped };
  }

  private place(index: number, opened: number): void {
    if (this.stepsLeft-- <= 0) {
      this.stopped = true;
      return;
    }
    if (this.best && opened > this.best.score.donors) return;
    if (index === this.pieces.length) {
      this.keepIfBetter(opened);
      return;
    }
    const state = this.stateAt(index);
    if (this.seen.has(state)) return;
    this.seen.add(state);
    const piece = this.pieces[index];
    const tried = new Set<string>();
    for (let d = 0; d < this.donors.length; d++) {
      const load = this.load[d];
      const key = this.donorKey(d);
      if (tried.has(key) || !this.stillFits(d, piece, index)) continue;
      tried.add(key);
      load.push(piece);
      this.place(index + 1, load.length === 1 ? opened + 1 : opened);
      load.pop();
      if (this.stopped) return;
    }
  }

  /** A piece that leaves a bad end now may still be followed by one that uses the donor up, so only the sum counts here. */
  private stillFits(d: number, piece: PieceToCut, index: number): boolean {
    const lengths = this.load[d].map((p) => p.lengthMm);
    lengths.push(piece.lengthMm);
    if (index < this.pieces.length - 1) {
      const toLastMark = lengths.reduce((a, b) => a + b, 0) + (lengths.length - 1) * this.options.kerfMm;
      return toLastMark <= this.donors[d].lengthMm + endToleranceMm;
    }
    return fitsDonor(lengths, this.donors[d].lengthMm, this.options.kerfMm);
  }

  private donorKey(d: number): string {
    const used = this.load[d].reduce((sum, p) => sum + p.lengthMm + this.options.kerfMm, 0);
    return `${this.donors[d].lengthMm.toFixed(3)}:${used.toFixed(3)}`;
  }

  private stateAt(index: number): string {
    const keys = this.donors.map((_, d) => this.donorKey(d));
    return `${index}|${keys.sort().join('|')}`;
  }

  private keepIfBetter(opened: number): void {
    const { kerfMm, reusableOffcutMm } = this.options;
    let wasteMm = 0;
    let longestMm = 0;
    for (const [d, load] of this.load.entries()) {
      if (load.length === 0) continue;
      const lengths = load.map((p) => p.lengthMm);
      if (!fitsDonor(lengths, this.donors[d].lengthMm, kerfMm)) return;
      const offcutMm = offcutOf(lengths, this.donors[d].lengthMm, kerfMm);
      longestMm = Math.max(longestMm, offcutMm);
      if (offcutMm < reusableOffcutMm) wasteMm += offcutMm;
    }
    const score: Score = { donors: opened, wasteMm, longestMm };
    if (this.best && !isBetter(score, this.best.score)) return;
    this.best = { score, load: this.load.map((l) => [...l]) };
  }

  private cutOf(donor: DonorAtHand, load: readonly PieceToCut[]): DonorCut {
    const { kerfMm } = this.options;
    let atMm = -kerfMm;
    const marksMm = load.map((piece) => {
      atMm += kerfMm + piece.lengthMm;
      return atMm;
    });
    const lengths = load.map((p) => p.lengthMm);
    return { donor, pieces: [...load], marksMm, offcutMm: offcutOf(lengths, donor.lengthMm, kerfMm) };
  }
}

function offcutOf(lengthsMm: readonly number[], donorMm: number, kerfMm: number): number {
  const sum = lengthsMm.reduce((a, b) => a + b, 0);
  return Math.max(0, donorMm - sum - lengthsMm.length * kerfMm);
}

function isBetter(a: Score, b: Score): boolean {
  if (a.donors !== b.donors) return a.donors < b.donors;
  if (Math.abs(a.wasteMm - b.wasteMm) > 1e-6) return a.wasteMm < b.wasteMm;
  return a.longestMm > b.longestMm + 1e-6;
}

/** Longest first; no more of one length than there are pieces, and none that is shorter than every piece. */
function usefulDonors(pieces: readonly PieceToCut[], donors: readonly DonorAtHand[]): DonorAtHand[] {
  const shortestMm = Math.min(...pieces.map((p) => p.lengthMm));
  const seen = new Map<string, number>();
  return [...donors]
    .sort((a, b) => b.lengthMm - a.lengthMm)
    .filter((donor) => {
      const key = donor.lengthMm.toFixed(3);
      const count = (seen.get(key) ?? 0) + 1;
      seen.set(key, count);
      return count <= pieces.length && donor.lengthMm >= shortestMm - endToleranceMm;
    });
}
