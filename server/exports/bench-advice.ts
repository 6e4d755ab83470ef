import { ruleFirst } from '../contract/bench-words.js';
import { bothUnits } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import type { CutList } from './cut-list.js';

/** What lies ready before the first cut (common practice, no source). */
export const tools =
  'Steel rule and scriber, clamp or vice with wooden jaws, fine hacksaw (24 to 32 teeth to the inch) or a small cut-off tool, flat and round needle files, pliers, safety glasses, gloves, continuity tester.';

/** How the cuts are made, in order. */
export function cuttingSteps(list: CutList, style: LengthStyle): string[] {
  const kerf = bothUnits(list.kerfMm, { ...style, unit: 'mm' }).first;
  return [
    ruleFirst,
    'Slide the ties to where they are drawn, insulators under the centre rail.',
    `Mark from the face of the rail at the pinned end, not from the pins. The blade takes ${kerf}: saw on the far side of the mark.`,
    'Cut in the order of the numbers; measure each next piece again from the fresh face.',
    'File the ends square, and take every burr off the tubes inside and outside.',
    'At each joint there must be one pin in each of the three rails: fit or pull pins until that is so on both sides of the filler.',
    'Close the joints by hand, check each length, tick it off, look along the rails.',
  ];
}

/**
 * The usual cautions, in own words. Sources: 29 CFR 1910.133(a) (eyes), WAC 296-806-40504 and 29 CFR 1926.303(c)
 * (cut-off wheels), common practice (hacksaw, burrs, gloves, insulation).
 */
export const cautions: readonly string[] = [
  'Unplug the transformer before you cut, join or lift track.',
  'Wear safety glasses, and so does everyone near. With a cut-off wheel wear a face shield too.',
  'Cut-off wheel: reinforced, 3 in or smaller, rated for the speed of the tool, never forced onto its spindle. No gloves, sleeves or hair near it.',
  'Clamp the track close to the cut, never hold it in the hand. Hacksaw: teeth forward, two or three teeth on the metal at a time.',
  'Fresh cuts are hot and sharp: gloves for handling and for pushing stiff joints together. Burrs also ruin traction tyres.',
  'Before power comes back, test that the centre rail is insulated from the outer rails at every filler.',
  'The manual of your tool and the rules where you live come first.',
];
