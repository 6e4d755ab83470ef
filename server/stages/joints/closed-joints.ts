import type { RailJoint } from '../../scene/rail-joint.js';
import type { RunInPhoto } from '../../scene/run-in-photo.js';
import { giveBackParts } from './rail-parts.js';
import { lengthOf, placeOnLine } from './rail-strips.js';
import { gapOfSlit, tableShareAt } from './slit-gap.js';
import { type SlitTrail, slitTrails } from './slit-trail.js';
import { pixelAlongMm, slitStepMm, slitViews } from './slit-views.js';
import { tieLikeness, tieTrail } from './tie-trail.js';

/** Least distance between two joints: the shortest piece of track that carries a tie. Common practice, no source. */
const apartMm = 28;

/** Nothing is looked for this near to where the rails end or a loop's line is closed. */
const marginMm = 8;

/** Evidence above which a slit is reported: the sum over heads and flanges of three rails, each in its own scatter. */
const leastEvidence = 10.2;

/** Peaks above this share of it show how ties lie about joints, as far beyond the ends of what is looked at. */
const likelyShare = 0.7;
const tieRoomMm = 70;

/** … and above this many times the middle of all peaks of a run: rust and clutter speak for slits everywhere. */
const timesUsualPeak = 2.2;
const fewPeaks = 15;

/**
 * Finds closed joints: slits that heads and flanges of all rails show at the same place, each at its own height.
 * @param fromS where the rails begin
 * @param toS where they end
 */
export function findSlits(run: RunInPhoto, fromS: number, toS: number): RailJoint[] {
  const { track, line } = run;
  const startS = line.closed ? fromS - 2 * marginMm : fromS;
  const endS = line.closed ? toS + 2 * marginMm : toS;
  if (endS - startS < apartMm) return [];
  const pixelMm = pixelAlongMm(run, (startS + endS) / 2, track.railTopMm);
  const blurMm = Math.hypot(0.3, 0.45 * pixelMm);
  const views = slitViews(run, startS, endS);
  const trails = slitTrails(views, blurMm);
  const evidence = evidenceOf(trails);
  const margin = Math.round(marginMm / slitStepMm);
  const length = lengthOf(line);
  const likelyS = peakRows(evidence, margin, evidence.length - margin)
    .filter((i) => evidence[i] > likelyShare * leastEvidence)
    .map((i) => startS + i * slitStepMm);
  const ties = tieLikeness(tieTrail(run, startS - tieRoomMm, endS + tieRoomMm), likelyS);
  const joints: RailJoint[] = [];
  for (const i of peaksOf(evidence, margin, evidence.length - margin, (row) => ties(startS + row * slitStepMm))) {
    const along = startS + (i + peakShift(evidence, i)) * slitStepMm;
    const s = placeOnLine(line, along);
    const tooNear = joints.some((j) => {
      const d = Math.abs(j.s - s);
      return Math.min(d, line.closed ? length - d : d) < apartMm;
    });
    if (tooNear) continue;
    const tableShare = tableShareAt(run, s, views, i);
    const gapMm = gapOfSlit(views, i, tableShare, track.pinDiameterMm / track.headWidthMm);
    joints.push({ s, open: false, gapMm, railsMm: [null, null, null] });
  }
  giveBackParts(views);
  return joints;
}

/** One view counts this many times its scatter at most, for a slit, and against it: one spot of rust must not outvote all. */
const mostFor = 4.5;
const mostAgainst = -1.5;

/** Half a step from one side to the other of more than this, in units of the scatter, is taken off: edges are no slits. */
const freeStep = 1;

/**
 * Where the table is brighter than the rails a slit of the flange shows bright; that is rarer, and counts less. But nothing
 * else looks so on all three rails: then it counts though the heads, lit in the slit too, show nothing.
 */
const brightShare = 0.7;
const brightLoss = 2;
const mostForBright = 8;

/** Dark flanges alone count this much, and so much more for each unit that the heads show: ties have edges, heads have none. */
const flangesAlone = 5;
const flangesWithHeads = 1.2;

/** Sides of a flange this unlike its usual look are a tie's, sides of heads a cover's: units of their scatter. */
const tieFrom = 0.6;
const tieFully = 1.6;
const coverFrom = 1.5;
const strangeLoss = 3;

/**
 * How much speaks for a slit at each row. On a tie the flange tells nothing and joints are rare; where the heads look
 * unlike heads on both sides there is no joint.
 */
export function evidenceOf(trails: readonly SlitTrail[]): Float32Array {
  const heads = trails.filter((t) => t.part === 'head');
  const flanges = trails.filter((t) => t.part === 'flange');
  const rows = trails[0].darkening.length;
  const out = new Float32Array(rows);
  const scale = Math.sqrt(6 / trails.length);
  for (let row = 0; row < rows; row++) {
    const tie = Math.max(0, Math.min(1, (Math.abs(meanOf(besides(flanges, row))) - tieFrom) / (tieFully - tieFrom)));
    const cover = Math.max(0, meanOf(besides(heads, row).map(Math.abs)) - coverFrom);
    const head = votes(heads, row, 1);
    const most = flangesAlone + flangesWithHeads * Math.max(0, head);
    const bright = brightShare * votes(flanges, row, -1, mostForBright) - brightLoss;
    const flange = Math.max(Math.min(most, (1 - tie) * votes(flanges, row, 1)), (1 - tie) * bright);
    out[row] = scale * (head + flange - strangeLoss * (tie + cover));
  }
  return out;
}

function votes(views: readonly SlitTrail[], row: number, sign: 1 | -1, most = mostFor): number {
  let sum = 0;
  for (const t of views) {
    const step = Math.max(0, Math.abs(t.tilt[row]) / 2 / t.scatter[row] - freeStep);
    sum += Math.max(mostAgainst, Math.min(most, (sign * t.darkening[row]) / t.scatter[row] - step));
  }
  return sum;
}

const besides = (views: readonly SlitTrail[], row: number): number[] => views.map((t) => t.beside[row]);
const meanOf = (values: readonly number[]): number => values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);

function middleOf(values: readonly number[]): number {
  return values.length === 0 ? 0 : [...values].sort((a, b) => a - b)[values.length >> 1];
}

function peakRows(evidence: Float32Array, from: number, to: number): number[] {
  const rows: number[] = [];
  for (let i = Math.max(1, from); i < Math.min(evidence.length - 1, to); i++)
    if (evidence[i] >= evidence[i - 1] && evidence[i] > evidence[i + 1]) rows.push(i);
  return rows;
}

/** What a slit needs against the usual, by how much the ties about it lie as about joints: from one to the other. */
const tiesOfNone = { likeness: 0.35, share: 1.3 };
const tiesOfJoint = { likeness: 0.8, share: 0.55 };

function shareNeeded(likeness: number | null): number {
  if (likeness === null) return 1;
  const part = (likeness - tiesOfNone.likeness) / (tiesOfJoint.likeness - tiesOfNone.likeness);
  return tiesOfNone.share + Math.max(0, Math.min(1, part)) * (tiesOfJoint.share - tiesOfNone.share);
}

/** Rows of the peaks between two rows that stand out, the greatest against what it needs first. */
function peaksOf(evidence: Float32Array, from: number, to: number, ties: (row: number) => number | null): number[] {
  const rows = peakRows(evidence, from, to);
  const least = Math.max(leastEvidence, timesUsualPeak * usualPeak(evidence, rows));
  return rows
    .map((row) => ({ row, times: evidence[row] / (least * shareNeeded(ties(row))) }))
    .filter(({ times }) => times > 1)
    .sort((a, b) => b.times - a.times)
    .map(({ row }) => row);
}

/** Middle of the peaks that are the greatest as far as the next joint could be; 0 of few. */
function usualPeak(evidence: Float32Array, peaks: readonly number[]): number {
  const apart = apartMm / slitStepMm;
  const greatest: number[] = [];
  for (const i of [...peaks].sort((a, b) => evidence[b] - evidence[a]))
    if (greatest.every((j) => Math.abs(i - j) >= apart)) greatest.push(i);
  return greatest.length < fewPeaks ? 0 : middleOf(greatest.map((i) => evidence[i]));
}

/** Top of the parabola through a peak and its neighbours, rows from the peak. */
function peakShift(evidence: Float32Array, i: number): number {
  const bend = evidence[i - 1] - 2 * evidence[i] + evidence[i + 1];
  return bend < 0 ? (0.5 * (evidence[i - 1] - evidence[i + 1])) / bend : 0;
}
