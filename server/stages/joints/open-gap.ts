import type { RailJoint } from '../../scene/rail-joint.js';
import type { Estimate } from '../../units/estimate.js';
import type { SectionEnd } from './rail-end.js';
import type { RailPart } from './rail-parts.js';

/** One rail alone is seen less well than all rails together by about this factor: the root of three. */
const oneRailFactor = Math.sqrt(3);

/**
 * The open gap between two ends.
 * @param startS place of the strips' first row on the centre line
 */
export function gapBetween(
  views: readonly RailPart[],
  before: SectionEnd,
  after: SectionEnd,
  startS: number,
): RailJoint {
  const u = Math.hypot(before.uMm, after.uMm);
  const railsMm: [Estimate | null, Estimate | null, Estimate | null] = [null, null, null];
  before.rails.forEach((a, rail) => {
    const b = after.rails[rail];
    const view = views.find((v) => v.rail === rail);
    if (view && a !== null && b !== null && b > a)
      railsMm[view.strip.rail + 1] = { value: b - a, u: oneRailFactor * u };
  });
  const s = startS + (before.at + after.at) / 2;
  return { s, open: true, gapMm: { value: after.at - before.at, u }, railsMm };
}
