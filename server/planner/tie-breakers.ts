import { type FillerModel, movement, stays } from './filler-model.js';
import type { Segment } from './layout-parts.js';
import { constant, type Linear, sumOf, term, times } from './linear-program.js';
import { type Leg, misclosure } from './misclosure.js';
import { add, dot, lengthOf, scale, subtract, type Vec } from './plane-vectors.js';

/** Weights of what decides between plans that are alike in wishes, cuts and changed sections. */
const weights = {
  /** A stretch's length changed by 1 mm: the track stays as near as can be to where it was laid. */
  change: 1,
  /** A run shifted by 1 mm in x or y. */
  shift: 0.3,
  /** 1 mm left over where a loop closes. */
  closing: 0.5,
  /** The same, when all joints are pushed tight. */
  tightClosing: 0.3,
  /** 1 mm of difference between opposite fillers of a loop that should be equal. */
  unequal: 3,
  /** 1 mm by which a piece moves that is to stay. */
  staying: 2,
  /** 1 mm of track put in. */
  newTrack: 0.02,
} as const;

/**
 * The last question of the order: of all plans that are alike so far, the one that keeps the track nearest to where it
 * lies, closes best and takes the least new track. Adds the columns it needs.
 */
export function tieBreakers(model: FillerModel, equalFillers: boolean): Linear {
  const { program } = model;
  const parts: Linear[] = [];
  const absolute = (sum: Linear, weight: number) => {
    if (sum.terms.length === 0) return;
    const size = program.continuous(0, 1e5);
    program.atLeast(sumOf(term(1, size), sum), 0);
    program.atLeast(sumOf(term(1, size), times(-1, sum)), 0);
    parts.push(term(weight, size));
  };
  for (const segment of model.segments) {
    absolute(segment.change, weights.change);
    parts.push(times(weights.newTrack, segment.newTrack));
    if (segment.changed !== null) parts.push(term(0.01, segment.changed));
  }
  for (const shift of model.shifts) for (const axis of shift) absolute(axis, weights.shift);
  model.layout.chains.forEach((chain, c) => {
    const left = model.closing[c];
    for (const axis of left) absolute(axis, weights.closing);
    const tight = chain.chain.closed ? tightMisclosure(chain.segments, chain.parts) : null;
    if (tight && lengthOf(tight) > 1e-3 && lengthOf(tight) < hiddenTrackMm) {
      absolute(sumOf(left[0], constant(tight[0])), weights.tightClosing);
      absolute(sumOf(left[1], constant(tight[1])), weights.tightClosing);
    }
    const pairs = equalFillers ? oppositeGaps(chain.segments, tight ?? [0, 0], model.options.wishes.closingMm) : [];
    for (const [a, b] of pairs) {
      const fillersOf = (s: Segment) =>
        sumOf(...model.segments[s.index].fillers.map((f) => term(model.options.wishes.stepMm, f.steps)));
      absolute(sumOf(fillersOf(a), times(-1, fillersOf(b))), weights.unequal);
    }
    for (const part of chain.parts) {
      if (stays(part)) for (const axis of movement(model, c, part.after)) absolute(axis, weights.staying);
    }
  });
  return sumOf(...parts);
}

/** A tight loop that misses by more than this has track that was not seen: its misclosure tells nothing. */
const hiddenTrackMm = 15;

type ChainPartsOf = FillerModel['layout']['chains'][number];

/**
 * What is left over when the run is laid out tight: its pieces in their measured directions, open gaps filled exactly,
 * and no play in closed joints. Differs from nought where closed joints have play that does not cancel.
 */
function tightMisclosure(segments: readonly Segment[], parts: ChainPartsOf['parts']): Vec {
  const legs: Leg[] = segments.map((s) => ({ along: s.stretch.along, lengthMm: s.nowMm }));
  for (const part of parts) {
    if (part.kind === 'curve') {
      const chord = subtract(part.curve.to, part.curve.from);
      legs.push({ along: scale(chord, 1 / lengthOf(chord)), lengthMm: lengthOf(chord) });
    }
    if (part.kind === 'fixed') {
      const { stretch, pieces } = part.group;
      legs.push({ along: stretch.along, lengthMm: pieces.reduce((mm, k) => mm + stretch.lengths[k].value, 0) });
    }
  }
  return misclosure(legs);
}

/**
 * Pairs of open gaps in opposite straights of a loop whose fillers should be of one length: they differ by no more than
 * the play of closed joints, and equal ones close the tight loop at least as well, or within the tolerance.
 */
function oppositeGaps(segments: readonly Segment[], tight: Vec, closingMm: number): [Segment, Segment][] {
  const gapMm = (s: Segment) => s.openGaps.reduce((sum, g) => sum + g.length.value, 0);
  const open = segments.filter((s) => s.openGaps.length > 0);
  const pairs: [Segment, Segment][] = [];
  open.forEach((a, i) => {
    for (const b of open.slice(i + 1)) {
      const differMm = gapMm(b) - gapMm(a);
      if (Math.abs(differMm) > 2 * closingMm || dot(a.stretch.along, b.stretch.along) > -0.999) continue;
      const turned = scale(subtract(a.stretch.along, b.stretch.along), differMm / 2);
      if (lengthOf(add(tight, turned)) <= Math.max(lengthOf(tight), closingMm)) pairs.push([a, b]);
    }
  });
  return pairs;
}
