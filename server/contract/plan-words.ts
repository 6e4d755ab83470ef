import { formatInches } from '../units/inches.js';

/** A length for a sentence that is read with either unit: `25.4 mm (1 in)`. */
export function bothUnits(lengthMm: number): string {
  return `${lengthMm.toFixed(1)} mm (${formatInches(lengthMm, 32)})`;
}

/** Why a planner's wish is unmet, and what would cure it, each with its number. */
export const cureWords = {
  moreDonors: (count: number, lengthMm: number) =>
    count === 1
      ? `One more donor of at least ${bothUnits(lengthMm)} would cure it.`
      : `${count} more donors of at least ${bothUnits(lengthMm)} each would cure it.`,
  moreStraights: (items: readonly { lengthMm: number; count: number }[]) =>
    `${items.map((i) => `${i.count === 1 ? 'One' : String(i.count)} more straight${i.count === 1 ? '' : 's'} of ${bothUnits(i.lengthMm)}`).join(' and ')} would cure it.`,
  letMove: (pieces: readonly string[]) => `It could be met if ${pieces.join(', ')} were allowed to move.`,
  roomAcross: (side: string, shortMm: number) =>
    `The table would have to be ${bothUnits(shortMm)} wider square to side ${side}, or the curves that face it ${bothUnits(shortMm / 2)} tighter in radius.`,
  moveZone: (name: string, shortMm: number) =>
    `“${name}” would have to be moved ${bothUnits(shortMm)} away from the track, or be that much smaller.`,
  moreSpacing: (shortMm: number) =>
    `The inner run would need curves ${bothUnits(shortMm)} tighter in radius, or the outer one that much wider ones.`,
  finerStep: (stepMm: number) => `A step of ${bothUnits(stepMm)} or finer would cure it.`,
  shorterFiller: (lengthMm: number) => `A filler as short as ${bothUnits(lengthMm)} would cure it, if you can cut one.`,
  smallerBy: (shortMm: number) => `Asking for ${bothUnits(shortMm)} less would make it possible.`,
} as const;

/** Warnings that travel with a plan; codes are kebab-case like those of the report. */
export const planWarningWords = {
  'too-uncertain-to-cut': (d: { joint: string; half95Mm: number; stepMm: number; photos: readonly string[] }) =>
    `The gap at ${d.joint} is only known to ± ${d.half95Mm.toFixed(1)} mm, more than one step of ${d.stepMm.toFixed(2)} mm. ` +
    `Before cutting, take one more photo${d.photos.length > 0 ? ` like ${d.photos[0]}` : ''} from straight above ${d.joint}, ` +
    'closer, with a marker sheet beside it in the picture, and measure again.',
  'stopped-early': (d: { level: string; value: number; bound: number }) =>
    `The time limit was reached before the best plan was proved: for “${d.level}” this plan has ${plain(d.value)}, ` +
    `and no plan can have less than ${plain(d.bound)}.`,
  'cutting-not-proved': () =>
    'The donors may be cut with even less waste: the search for the best cutting was stopped.',
  'near-the-edge': (d: { run: string; side: string; distanceMm: number; safetyMm: number }) =>
    `${d.run} lies ${bothUnits(d.distanceMm)} from side ${d.side}: less than the safety margin of ${bothUnits(d.safetyMm)}.`,
  'heading-misclosure': (d: { run: string; degrees: number; kinkDegrees: number }) =>
    `The curves of ${d.run} turn ${d.degrees.toFixed(2)}° too ${d.degrees > 0 ? 'little' : 'much'} for a closed loop; ` +
    `straights cannot cure that. Each joint takes up ${Math.abs(d.kinkDegrees).toFixed(2)}°.`,
  'hidden-track': (d: { run: string }) => `Part of ${d.run} was not seen. What lies there is taken to stay as it is.`,
  'slide-sections': (d: { run: string; filler: string; gaps: readonly string[] }) =>
    `${d.filler} takes the place of the gaps at ${d.gaps.join(', ')} in ${d.run}: slide the sections between them together.`,
} as const;

type Words = typeof planWarningWords;

export function planWarning<C extends keyof Words>(
  code: C,
  data: Parameters<Words[C]>[0],
): { code: C; message: string } {
  return { code, message: (planWarningWords[code] as (d: unknown) => string)(data) };
}

function plain(value: number): string {
  return Number.isFinite(value) ? String(Math.round(value * 10) / 10) : 'no known bound';
}
