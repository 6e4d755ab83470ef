import type { Estimate } from '../units/estimate.js';
import { bothUnits } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { toldBy } from './filler-sum.js';
import { openGaps } from './gap-readings.js';
import type { PlanWithoutAlternatives } from './plan.js';
import type { Report } from './report.js';

/** What page and cut sheet say first of all, before any step of cutting. */
const ruleFirst =
  'Before you cut, lay a steel rule in each gap and write down what it says; typed in under “Fillers”, it counts. ' +
  'If it is off by more than the ±, do not cut: measure again.';

/** The same, where it was done already. */
const ruleLaid =
  'A steel rule was laid in every gap, and its readings count. If anything was moved since, lay it there again before you cut.';

/**
 * Whether a rule was laid in every open gap, so that no one has to be asked for it again.
 * @param report null where only the plan is at hand: then the gaps that its fillers close are all that is known
 */
export function readInAllGaps(plan: PlanWithoutAlternatives, report: Report | null): boolean {
  const ruled = (plan.byRule ?? []).map((gap) => gap.joint);
  if (report !== null) return ruled.length > 0 && openGaps(report).every(({ joint }) => ruled.includes(joint.id));
  return plan.fillers.length > 0 && plan.fillers.every((filler) => isRead(plan, filler));
}

function isRead(plan: PlanWithoutAlternatives, filler: PlanWithoutAlternatives['fillers'][number]): boolean {
  const total: Estimate | null = filler.gap ?? null;
  const by = toldBy(plan, filler, { parts: [], total });
  return by !== null && by !== 'photo';
}

/** What decides how the steps at the bench are worded. */
export interface Bench {
  /** A rule was laid in every gap already. */
  readonly gapsRead: boolean;
  /** What the blade takes, millimetres; null where the plan does not say. */
  readonly kerfMm: number | null;
  /** `drawn`, or where else it is to be seen. */
  readonly tiesAre: string;
}

/** How the cuts are made, in order; page and cut sheet both say this. */
export function cuttingSteps({ gapsRead, kerfMm, tiesAre }: Bench, style: LengthStyle): string[] {
  const blade = kerfMm === null ? '' : ` The blade takes ${bothUnits(kerfMm, { ...style, unit: 'mm' }).first}:`;
  const saw = `${blade === '' ? ' Saw' : `${blade} saw`} on the far side of the mark.`;
  return [
    gapsRead ? ruleLaid : ruleFirst,
    `Slide the ties to where they are ${tiesAre}, insulators under the centre rail.`,
    `Mark from the face of the rail at the pinned end, not from the pins.${saw}`,
    'Cut in the order of the numbers; measure each next piece again from the fresh face.',
    'File the ends square, and take every burr off the tubes inside and outside.',
    'At each joint there must be one pin in each of the three rails: fit or pull pins until that is so on both sides of the filler.',
    'Close the joints by hand, check each length, tick it off, look along the rails.',
  ];
}

/** All that is to be said of care where nothing is sawn. */
export const joiningCaution =
  'Unplug the transformer before you join or lift track; afterwards test that the centre rail is insulated.';

/**
 * The usual cautions, in own words; page and cut sheet both say them. Sources: 29 CFR 1910.133(a) (eyes),
 * WAC 296-806-40504 and 29 CFR 1926.303(c) (cut-off wheels), common practice (hacksaw, burrs, gloves, insulation).
 */
export const cautions: readonly string[] = [
  'Unplug the transformer before you cut, join or lift track.',
  'Wear safety glasses, and so does everyone near. With a cut-off wheel wear a face shield too.',
  'Cut-off wheel: reinforced, 3 in or smaller, rated for the speed of the tool, never forced onto its spindle. No gloves, sleeves or hair near it.',
  'Clamp the track between wood close to the cut, never hold it in the hand. Hacksaw: teeth forward, two or three teeth on the metal at a time.',
  'Fresh cuts are hot and sharp: gloves for handling and for pushing stiff joints together. Burrs also ruin traction tyres.',
  'Before power comes back, test that the centre rail is insulated from the outer rails at every filler.',
  'The manual of your tool and the rules where you live come first.',
];
