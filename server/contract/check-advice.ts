import { halfWidth95 } from '../units/estimate.js';
import { formatLength, type LengthStyle } from '../units/format-length.js';
import { type CheckRow, type CheckTolerances, defaultCheckTolerances } from './check-rows.js';
import { namedJoints } from './joint-names.js';
import type { Plan } from './plan.js';
import type { Report } from './report.js';

/** What helps after a check; page and paper say the same. */
export interface CheckAdvice {
  /** Why the photo shows other track than the plan; then nothing is advised row by row. */
  readonly mismatch: string | null;
  /** What helps, for each row that is not good. */
  readonly cures: ReadonlyMap<CheckRow, string>;
}

/** No filler that was cut wrong makes the track so much longer or shorter, 2 in: practice, no source. */
const otherTrackMm = 50.8;

/** A gap wider than this, 1/2 in, is not one that was only not pushed together: practice, no source. */
const missingPieceMm = 12.7;

/** A gap that differs from the one before the cuts by less than this much of its width is the same: practice, no source. */
const sameGapRatio = 0.08;

/**
 * Says what helps. A piece is never to be filed or cut for what laying it in, or sliding the whole run, would cure.
 * Common practice, no source.
 * @param rows of the same plan and report
 */
export function checkAdvice(
  plan: Plan,
  measured: Report,
  rows: readonly CheckRow[],
  style: LengthStyle,
  tolerances: CheckTolerances = defaultCheckTolerances,
): CheckAdvice {
  const missing = fillersNotInPlace(plan, measured, rows, tolerances);
  const across = acrossOf(measured, rows, tolerances);
  const mismatch = mismatchOf(plan, measured, rows, missing.size > 0 ? [] : across);
  const cures = new Map<CheckRow, string>();
  if (mismatch !== null) return { mismatch, cures };
  for (const row of rows) {
    const cure = cureOf(row, { plan, rows, missing, across, style });
    if (cure !== '') cures.set(row, cure);
  }
  return { mismatch, cures };
}

interface Seen {
  readonly plan: Plan;
  readonly rows: readonly CheckRow[];
  /** Joints that stand as wide open as before the cuts, with the fillers that belong there. */
  readonly missing: ReadonlyMap<CheckRow, readonly string[]>;
  readonly across: readonly Across[];
  readonly style: LengthStyle;
}

function cureOf(row: CheckRow, seen: Seen): string {
  if (row.verdict === 'good') return '';
  if (row.verdict === 'not measured') return 'Take a photo that shows it.';
  if (row.verdict === 'too close to call') return 'Look at it, or take a sharper photo from nearer.';
  if (row.kind === 'joint') return jointCure(row, seen);
  const shifted = seen.across.find((a) => a.longerMm === 0 && (a.near.row === row || a.far.row === row));
  if (shifted) return slideCure(shifted, seen.style);
  if (seen.missing.size > 0) {
    const fillers = [...new Set([...seen.missing.values()].flat())];
    return `Not to be judged before ${fillers.join(' and ')} ${fillers.length === 1 ? 'is' : 'are'} in place.`;
  }
  return row.kind === 'clearance' ? clearanceCure(row, seen) : spacingCure(row, seen);
}

function jointCure(row: CheckRow, { plan, missing }: Seen): string {
  const fillers = missing.get(row);
  if (fillers) {
    const names = fillers.join(' or ');
    return `${names} is not in place yet: this gap is as wide as before the cuts. Lay ${fillers.length === 1 ? 'it' : 'the one that belongs here'} in, then take new photos.`;
  }
  if ((row.difference?.value ?? 0) > missingPieceMm)
    return `Too wide for a joint that was only not pushed together: look whether every piece lies where it belongs${plan.fillers.length > 0 ? `, the fillers ${plan.fillers.map((f) => f.id).join(', ')} too` : ''}.`;
  return 'Push the sections together; if it stays open while all other joints are closed, lay a shim there.';
}

function clearanceCure(row: CheckRow, { plan, rows, across, style }: Seen): string {
  const over = row.difference?.value ?? 0;
  const found = across.find((a) => a.near.row === row || a.far.row === row);
  if (!found)
    return `${over < 0 ? 'Nearer' : 'Wider'} than planned by ${formatLength(Math.abs(over), style)}. Whether the track lies shifted or came out ${over < 0 ? 'longer' : 'shorter'} is not known as long as the opposite side is not measured: cut and file nothing for it.`;
  const by = formatLength(Math.abs(found.longerMm), style);
  const sides = `sides ${found.near.side} and ${found.far.side}`;
  const open = rows.some((r) => r.kind === 'joint' && r.verdict !== 'good');
  if (found.longerMm > 0) {
    const first = open ? 'push all joints together, ' : '';
    const fillers =
      plan.fillers.length > 0
        ? ' Then measure the fillers with a rule: file only one that is longer than the cut sheet says.'
        : '';
    return `Square to ${sides} the track takes ${by} more room than planned. First ${first}see that the straights lie true to the sides.${fillers}`;
  }
  const fillers = plan.fillers.length > 0 ? ', and measure the fillers with a rule against the cut sheet' : '';
  return `Square to ${sides} the track takes ${by} less room than planned: look whether every piece is in place${fillers}.`;
}

function slideCure({ near, far, slideMm, runs }: Across, style: LengthStyle): string {
  const towards = slideMm > 0 ? far.side : near.side;
  const by = formatLength(Math.abs(slideMm), style);
  return `The track is as long as planned and lies shifted: slide ${runs} about ${by} towards side ${towards}.`;
}

function spacingCure(row: CheckRow, { style }: Seen): string {
  const over = row.difference?.value ?? 0;
  const by = formatLength(Math.abs(over), style);
  return `The two runs lie ${by} ${over < 0 ? 'nearer to' : 'further from'} each other than planned: slide one of them before you change a piece.`;
}

/** Which fillers are not in place: of each joint that is off, those whose gap was about as wide before the cuts. */
function fillersNotInPlace(
  plan: Plan,
  measured: Report,
  rows: readonly CheckRow[],
  tolerances: CheckTolerances,
): Map<CheckRow, readonly string[]> {
  const missing = new Map<CheckRow, readonly string[]>();
  const joints = namedJoints(measured).map((n) => n.joint);
  rows.forEach((row, i) => {
    if (row.kind !== 'joint' || row.verdict !== 'off' || row.measured === null) return;
    const { value, u } = row.measured;
    const alike = plan.fillers.flatMap((filler) => {
      const before = filler.gap ?? { value: filler.lengthMm, u: 0 };
      const knownMm = halfWidth95({ value: 0, u: Math.hypot(u, before.u) });
      const byMm = Math.abs(value - before.value);
      const isSame = byMm <= tolerances.jointMm + sameGapRatio * before.value + knownMm;
      return isSame ? [{ id: filler.id, run: filler.run, byMm, knownMm }] : [];
    });
    const inRun = alike.filter((f) => f.run === joints[i]?.run);
    const likely = inRun.length > 0 ? inRun : alike;
    const leastMm = Math.min(...likely.map((f) => f.byMm));
    const names = likely.filter((f) => f.byMm <= leastMm + f.knownMm).map((f) => f.id);
    if (names.length > 0) missing.set(row, names);
  });
  return missing;
}

interface SideRow {
  readonly row: CheckRow;
  readonly side: string;
}

/** What was measured between two sides that face each other. */
interface Across {
  readonly near: SideRow;
  readonly far: SideRow;
  /** How much more room the track takes than planned; 0 where that is within what is tolerated and known. */
  readonly longerMm: number;
  /** How far it has to slide from `near` towards `far`. */
  readonly slideMm: number;
  /** Which run: `run R1`, or `the track` where two runs come nearest to the two sides. */
  readonly runs: string;
}

/** Pairs of opposite sides whose clearances were both measured. */
function acrossOf(measured: Report, rows: readonly CheckRow[], tolerances: CheckTolerances): Across[] {
  const sides = measured.table.sides;
  const all = rows.flatMap((row): SideRow[] => {
    const side = sides.find((s) => row.kind === 'clearance' && row.name === `side ${s.name}`);
    return side && row.difference ? [{ row, side: side.name }] : [];
  });
  return all.flatMap((near, i) =>
    all.slice(i + 1).flatMap((far): Across[] => {
      if (!areOpposite(measured, near.side, far.side)) return [];
      const [a, b] = [near.row.difference, far.row.difference];
      if (!a || !b) return [];
      const sumMm = a.value + b.value;
      const known = halfWidth95({ value: 0, u: Math.hypot(a.u, b.u) });
      const isLonger = Math.abs(sumMm) > tolerances.clearanceMm + known;
      const runs = new Set([near, far].map(({ side }) => runNearest(measured, side)));
      const [only] = runs;
      return [
        {
          near,
          far,
          longerMm: isLonger ? -sumMm : 0,
          slideMm: (b.value - a.value) / 2,
          runs: runs.size === 1 && only !== undefined ? `run ${only}` : 'the track',
        },
      ];
    }),
  );
}

/** A corner may be off square by as much as this and its sides still face each other. */
const facingCosine = Math.cos(Math.PI / 18);

function areOpposite(report: Report, a: string, b: string): boolean {
  const [u, v] = [a, b].map((name) => {
    const side = report.table.sides.find((s) => s.name === name);
    if (!side) return [0, 0];
    const way = [side.to[0] - side.from[0], side.to[1] - side.from[1]];
    const length = Math.hypot(way[0], way[1]) || 1;
    return [way[0] / length, way[1] / length];
  });
  return u[0] * v[0] + u[1] * v[1] < -facingCosine;
}

function runNearest(report: Report, side: string): string | undefined {
  return report.clearances.filter((c) => c.side === side).sort((a, b) => a.distance.value - b.distance.value)[0]?.run;
}

/** What tells that the photo shows other track, or track that the plan was not carried out on. */
function mismatchOf(plan: Plan, measured: Report, rows: readonly CheckRow[], across: readonly Across[]): string | null {
  const [planned, seen] = [Object.keys(plan.shift).length, measured.runs.length];
  const ending =
    'The photos show other track, or not all of it, or the plan has not been carried out yet: no advice is given for the places below.';
  if (planned > 0 && seen > 0 && planned !== seen)
    return `This does not match the plan: it is for ${counted(planned, 'run')}, and ${counted(seen, 'run')} ${seen === 1 ? 'was' : 'were'} measured. ${ending}`;
  const clearances = rows.filter((row) => row.kind === 'clearance');
  const names = new Set(measured.table.sides.map((s) => `side ${s.name}`));
  if (clearances.length > 0 && clearances.every((row) => !names.has(row.name)))
    return `This does not match the plan: the table measured has none of its sides. ${ending}`;
  const other = across.find((a) => Math.abs(a.longerMm) > otherTrackMm);
  if (!other) return null;
  return `This does not match the plan: between sides ${other.near.side} and ${other.far.side} the track is far ${other.longerMm > 0 ? 'longer' : 'shorter'} than a filler that was cut wrong could make it. ${ending}`;
}

function counted(count: number, noun: string): string {
  return `${count} ${noun}${count === 1 ? '' : 's'}`;
}
