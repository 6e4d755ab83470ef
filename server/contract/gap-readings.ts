import { coverage95, type Estimate, meanOfTwo } from '../units/estimate.js';
import { namedJoints } from './joint-names.js';
import type { Report, ReportJoint } from './report.js';
import type { GapReading } from './wishes.js';

/**
 * Standard uncertainty of a gap read with a steel rule, millimetres: common practice, no source. The rule is read to half
 * a millimetre or 1/32 in, the nearest line (half a step of 0.8 mm, evenly spread: 0.23); its end is held against one rail
 * end (0.1); and three rails, whose ends a saw leaves a little aslant, are read as one (0.2). Together 0.3.
 */
export const steelRuleUMm = 0.3;

/**
 * A joint this near to where a rule was laid is the same one, millimetres: measured anew, joints move by a few millimetres
 * at most, and the neighbouring track lies farther off than 2 in. Common practice, no source.
 */
export const foundAgainMm = 50;

/** An open gap of the report in which a rule was laid. */
export interface RuledGap {
  /** Id of the joint in this report. */
  readonly joint: string;
  /** What counts: both together where they agree, else what the rule says. */
  readonly length: Estimate;
  /** What the rule says of it. */
  readonly rule: Estimate;
  /** What the photos say of it. */
  readonly photo: Estimate;
}

/** A gap with the reading that was found to belong there. */
export interface ReadGap extends RuledGap {
  readonly reading: GapReading;
}

/** Who tells how long a gap is. */
export type ToldBy = 'photo' | 'rule' | 'photo and rule';

/** What became of readings: each counts at one open gap, or at none. */
export interface FoundReadings {
  /** In the order of the report's joints. */
  readonly ruled: readonly ReadGap[];
  /** Readings of gaps that are not open any more, or were not found again. */
  readonly lost: readonly GapReading[];
}

/**
 * Finds the gaps again that were read with a rule: the open joints nearest to where they lay, no farther than
 * `foundAgainMm`, the nearest pairs first and each joint once; of two as near the one of the same name.
 * Cost: readings × joints.
 */
export function findReadings(report: Report, readings: readonly GapReading[]): FoundReadings {
  const open = report.joints.filter((joint) => joint.open);
  const pairs = readings
    .flatMap((reading) => open.map((joint) => ({ reading, joint, offMm: apartMm(reading.at, joint.at) })))
    .filter(({ offMm }) => offMm <= foundAgainMm)
    .sort((a, b) => a.offMm - b.offMm || Number(isNamed(b)) - Number(isNamed(a)));
  const found = new Map<GapReading, ReportJoint>();
  const taken = new Set<ReportJoint>();
  for (const { reading, joint } of pairs) {
    if (found.has(reading) || taken.has(joint)) continue;
    found.set(reading, joint);
    taken.add(joint);
  }
  const inOrder = [...found].sort(([, a], [, b]) => open.indexOf(a) - open.indexOf(b));
  return {
    ruled: inOrder.map(([reading, joint]) => readGap(joint, reading)),
    lost: readings.filter((reading) => !found.has(reading)),
  };
}

/**
 * The report with the lengths that count where a rule was laid. What the photos saw of each rail there is left out: the
 * rule was laid once for all three, and the photo's part is in the length. Everything that plans looks at this report alone.
 */
export function reportByRule(report: Report, ruled: readonly RuledGap[]): Report {
  if (ruled.length === 0) return report;
  const joints = report.joints.map((joint) => {
    const read = joint.open ? ruled.find((gap) => gap.joint === joint.id) : undefined;
    if (read === undefined) return joint;
    const { rails: _, ...rest } = joint;
    return { ...rest, gap: read.length };
  });
  return { ...report, joints };
}

/**
 * The gap on the centre line, as the photos tell it. Where all three rails were seen, their ends lie on two straight cuts,
 * so the middle one's gap is half way between the others'; what it misses that by says how sure the mean of the three is
 * at best (least squares, one degree of freedom).
 */
export function gapByPhoto(joint: ReportJoint): Estimate {
  const { left, centre, right } = joint.rails ?? { left: null, centre: null, right: null };
  if (!joint.open || !left || !centre || !right) return joint.gap;
  const missMm = Math.abs(centre.value - (left.value + right.value) / 2);
  return { value: joint.gap.value, u: Math.max(joint.gap.u, missMm * Math.sqrt(2 / 9)) };
}

/** Whether rule and photo lie farther apart than both are uncertain by, at 95 %. */
export function contradictsPhoto({ rule, photo }: Pick<RuledGap, 'rule' | 'photo'>): boolean {
  return Math.abs(rule.value - photo.value) > coverage95 * Math.hypot(rule.u, photo.u);
}

/** Both where they agree, the rule where they do not, and the photo where no rule was laid. */
export function gapToldBy(gap: Pick<RuledGap, 'rule' | 'photo'> | undefined): ToldBy {
  if (gap === undefined) return 'photo';
  return contradictsPhoto(gap) ? 'rule' : 'photo and rule';
}

/**
 * A gap with what counts there. Rule and photo err independently: where they agree, both count together. Where they
 * contradict each other one of them is wrong, and a mean would be as well; a rule laid in the gap is less often.
 */
export function ruledGap(joint: string, rule: Estimate, photo: Estimate): RuledGap {
  const length = contradictsPhoto({ rule, photo }) ? rule : meanOfTwo(rule, photo);
  return { joint, length, rule, photo };
}

/** The open gaps of a report by the names that people read, in that order. */
export function openGaps(report: Report) {
  return namedJoints(report).filter(({ joint }) => joint.open);
}

function readGap(joint: ReportJoint, reading: GapReading): ReadGap {
  const rule = { value: reading.lengthMm, u: reading.uMm ?? steelRuleUMm };
  return { ...ruledGap(joint.id, rule, gapByPhoto(joint)), reading };
}

function isNamed({ reading, joint }: { reading: GapReading; joint: ReportJoint }): boolean {
  return reading.joint === joint.id;
}

function apartMm(a: readonly [number, number], b: readonly [number, number]): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}
