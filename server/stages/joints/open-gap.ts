import type { RailJoint } from '../../scene/rail-joint.js';
import type { Estimate } from '../../units/estimate.js';
import type { SectionEnd } from './rail-end.js';
import type { RailPart } from './rail-parts.js';
import { settleEnd } from './settled-end.js';

/** One rail alone is seen less well than all rails together by about this factor: the root of three. */
const oneRailFactor = Math.sqrt(3);

/**
 * The open gap between two ends that were found, with both settled.
 * @param startS place of the strips' first row on the centre line
 */
export function settledGap(
  views: readonly RailPart[],
  before: SectionEnd,
  after: SectionEnd,
  startS: number,
): RailJoint {
  const widthMm = after.at - before.at;
  const [a, b] = [settleEnd(views, before, 1, widthMm), settleEnd(views, after, -1, widthMm)];
  return gapBetween(views, a, b, startS + (a.at + b.at) / 2);
}

/** The open gap between two ends; s is its middle on the centre line. */
function gapBetween(views: readonly RailPart[], before: SectionEnd, after: SectionEnd, s: number): RailJoint {
  const u = Math.hypot(before.uMm, after.uMm);
  const railsMm: [Estimate | null, Estimate | null, Estimate | null] = [null, null, null];
  before.rails.forEach((a, rail) => {
    const b = after.rails[rail];
    const view = views.find((v) => v.rail === rail);
    if (view && a !== null && b !== null && b > a)
      railsMm[view.strip.rail + 1] = { value: b - a, u: oneRailFactor * u };
  });
  return { s, open: true, gapMm: { value: after.at - before.at, u }, railsMm };
}
