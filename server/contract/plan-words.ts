import { closelyInBoth, finelyInBoth, inBoth } from '../units/both-units.js';
import type { Estimate } from '../units/estimate.js';
import { writtenHalfWidth } from '../units/format-length.js';
import type { ToldBy } from './gap-readings.js';

/** Why a planner's wish is unmet, and what would cure it, each with its number. */
export const cureWords = {
  moreDonors: (count: number, lengthMm: number) =>
    count === 1
      ? `One more donor of at least ${inBoth(lengthMm)} would cure it.`
      : `${count} more donors of at least ${inBoth(lengthMm)} each would cure it.`,
  moreStraights: (items: readonly { lengthMm: number; count: number }[]) =>
    `${items.map((i) => `${i.count === 1 ? 'One' : String(i.count)} more straight${i.count === 1 ? '' : 's'} of ${inBoth(i.lengthMm)}`).join(' and ')} would cure it.`,
  letMove: (pieces: readonly string[]) => `It could be met if ${pieces.join(', ')} were allowed to move.`,
  roomAcross: (side: string, shortMm: number) =>
    `The table would have to be ${inBoth(shortMm)} wider square to side ${side}, or the curves that face it ${inBoth(shortMm / 2)} tighter in radius.`,
  moveZone: (name: string, shortMm: number) =>
    `“${name}” would have to be moved ${inBoth(shortMm)} away from the track, or be that much smaller.`,
  moreSpacing: (shortMm: number) =>
    `The inner run would need curves ${inBoth(shortMm)} tighter in radius, or the outer one that much wider ones.`,
  finerStep: (stepMm: number) => `A step of ${inBoth(stepMm)} or finer would cure it.`,
  shorterFiller: (lengthMm: number) => `A filler as short as ${inBoth(lengthMm)} would cure it, if you can cut one.`,
  bentGap: () => 'Its two ends do not point at each other: a curve belongs there, or track that was not seen.',
  outOfTime: () =>
    'The time ran out before it was found what would help. Work the fillers out again, with fewer wishes at a time or when the computer is less busy.',
  noneFound: () => 'Neither more straights and donors, nor a finer step or shorter fillers were found to cure it.',
  smallerBy: (shortMm: number) => `Asking for ${inBoth(shortMm)} less would make it possible.`,
} as const;

/** Warnings that travel with a plan; codes are kebab-case like those of the report. */
export const planWarningWords = {
  'too-uncertain-to-cut': (d: {
    gap: string;
    half95Mm: number;
    stepMm: number;
    photos: readonly string[];
    toldBy?: ToldBy;
  }) => {
    const known = `only known to ± ${finelyInBoth(d.half95Mm)}, more than one step of ${inBoth(d.stepMm)}. Before cutting,`;
    if (d.toldBy === 'rule') {
      return (
        `${d.gap} by the rule is ${known} choose a coarser step, or find out why the photo says something else: ` +
        'once they agree, both count together.'
      );
    }
    const photo =
      `or take one more photo${d.photos.length > 0 ? ` like ${d.photos[0]}` : ''} from straight above it, ` +
      'closer, with a marker sheet beside it in the picture, and measure again.';
    return d.toldBy === 'photo and rule'
      ? `${d.gap}, though checked with the rule, is ${known} choose a coarser step; ${photo}`
      : `${d.gap} is ${known} lay a steel rule there and type in what it says; ${photo}`;
  },
  'rule-against-photo': (d: { gap: string; rule: Estimate; photo: Estimate }) =>
    `${d.gap}: the rule says ${besideInBoth(d.rule)}, the photo ${besideInBoth(d.photo)}. They differ by more than both ± allow; ` +
    'the plan goes by the rule. Before cutting, lay the rule there again. If it says the same, the track was moved ' +
    'since the photo or the photo misleads: take a new one and measure again.',
  'reading-without-gap': ({ readings }: { readings: readonly { lengthMm: number; side: string | null }[] }) => {
    const each = readings.map(
      ({ lengthMm, side }) => `${closelyInBoth(lengthMm)}${side === null ? '' : ` near side ${side}`}`,
    );
    const [they, them] = readings.length === 1 ? ['it does', 'it'] : ['they do', 'them'];
    return (
      `Read with the rule, but no open gap is measured there any more: ${each.join(', ')}. So ${they} not count. ` +
      `Take ${them} out, or lay the rule again where a gap is still open.`
    );
  },
  'stopped-early': (d: { level: string; value: number; bound: number | null }) =>
    `The time limit was reached before the best plan was proved: ${stoppedAt(d)}`,
  'cutting-not-proved': () =>
    'The donors may be cut with even less waste: the search for the best cutting was stopped.',
  'near-the-edge': (d: { run: string; side: string; distanceMm: number; safetyMm: number }) =>
    `${d.run} lies ${inBoth(d.distanceMm)} from side ${d.side}: less than the safety margin of ${inBoth(d.safetyMm)}.`,
  'barely-met': (d: { sides: readonly { side: string; spareMm: number; half95Mm: number }[] }) =>
    `${d.sides.map((s) => `The clearance wished for at side ${s.side} is ${s.spareMm < 0.05 ? 'only just met' : `met by ${finelyInBoth(s.spareMm)}`}, but known to ± ${finelyInBoth(s.half95Mm)}.`).join(' ')} ` +
    'Measure there with a rule, or ask for more.',
  'heading-misclosure': (d: { run: string; degrees: number; kinkDegrees: number }) =>
    `The curves of ${d.run} turn ${d.degrees.toFixed(2)}° too ${d.degrees > 0 ? 'little' : 'much'} for a closed loop; ` +
    `straights cannot cure that. Each joint takes up ${Math.abs(d.kinkDegrees).toFixed(2)}°.`,
  'bent-gap': (d: { run: string; joint: string; degrees: number; besideMm: number; covered: boolean }) =>
    `The two ends at ${d.joint} in ${d.run} point ${d.degrees.toFixed(0)}° apart${d.besideMm > 10 ? ` and lie ${inBoth(d.besideMm, 0)} beside each other` : ''}: ` +
    `no straight piece fits between them, so what lies there is taken to stay as it is. ${
      d.covered ? 'Track was covered there: lift away what stands on it and take' : 'Take'
    } a photo from above that place and measure again.`,
  'check-section': (d: { run: string; piece: number; lengthMm: number }) =>
    `The plan takes out section ${d.piece + 1} of ${d.run}, measured as ${inBoth(d.lengthMm)}, but not both of its ends were ` +
    'seen as joints. Lift it and measure it with a rule before cutting; if it differs by more than a step, take a photo ' +
    'of its ends from closer by and plan again.',
  'hidden-track': (d: { run: string }) => `Part of ${d.run} was not seen. What lies there is taken to stay as it is.`,
  'slide-sections': (d: { run: string; filler: string; gaps: readonly string[] }) =>
    `${d.filler} takes the place of ${d.gaps.join(', ')} in ${d.run}: slide the sections between them together.`,
} as const;

function besideInBoth(estimate: Estimate): string {
  const [mm, inches] = (['mm', 'in'] as const).map((unit) => writtenHalfWidth(estimate, { unit, denominator: 64 }));
  return `${closelyInBoth(estimate.value)} ± ${mm} mm (${inches} in)`;
}

type Words = typeof planWarningWords;

export function planWarning<C extends keyof Words>(
  code: C,
  data: Parameters<Words[C]>[0],
): { code: C; message: string } {
  return { code, message: (planWarningWords[code] as (d: unknown) => string)(data) };
}

function stoppedAt({ level, value, bound }: { level: string; value: number; bound: number | null }): string {
  const known = bound !== null && Number.isFinite(bound);
  const unknown = 'how far it is from the best one is not known.';
  if (level === 'length') {
    const made = value <= 0 ? `${inBoth(-value)} longer` : `${inBoth(value)} shorter`;
    return `this one makes the track ${made} than now; ${known ? `no plan makes it more than ${inBoth(value - bound)} longer than this one.` : unknown}`;
  }
  const least = Math.max(0, bound ?? 0);
  if (level === 'wishes')
    return `this one falls ${inBoth(value)} short of the wishes; ${known && least > 0 ? `no plan can fall less than ${inBoth(least)} short.` : unknown}`;
  const words: Record<string, string> = { cuts: 'cuts', sections: 'changed sections' };
  const unit = words[level] ?? level;
  return `this one has ${plain(value)} ${unit}; ${known && least > 0 ? `no plan can have fewer than ${plain(least)}.` : unknown}`;
}

function plain(value: number): string {
  return String(Math.round(value * 10) / 10);
}
