import { meanTrail, type TableTrail } from './table-trail.js';

/** A stretch where the table shows in place of the flanges, along the line. */
export interface TableSpan {
  readonly fromS: number;
  readonly toS: number;
}

/** Where the table shows the trail is above this, but for a few rows (a pin's shadow, a blemish). */
const tableLevel = 0.5;
const widestBlemishMm = 2;

/** Stretches of a trail that look like table, shortestMm long at least. */
export function tableSpans(trail: TableTrail, shortestMm: number): TableSpan[] {
  const spans: { fromS: number; toS: number }[] = [];
  trail.like.forEach((value, i) => {
    if (!(value > tableLevel)) return;
    const s = trail.startS + i * trail.stepMm;
    const last = spans[spans.length - 1];
    if (last && s - last.toS <= widestBlemishMm + trail.stepMm) last.toS = s;
    else spans.push({ fromS: s, toS: s });
  });
  return spans.filter((span) => span.toS - span.fromS >= shortestMm);
}

/** What a trail says of a gap. */
export interface GapInTrail {
  /** Mean within the gap. */
  readonly within: number;
  /** How much less it is beside the gap, where that is least. */
  readonly step: number;
  /** Sum over the gap, a value for each millimetre: greatest for the gap's true ends. */
  readonly sum: number;
}

/** Rows next to an end are a mixture. */
export const mixedMm = 1;
/** How much of the rails beside a gap is looked at. */
const besideMm = 9;

/** Weighs a gap in a trail; null where the trail does not tell. */
export function gapInTrail(trail: TableTrail, fromS: number, toS: number): GapInTrail | null {
  const inset = Math.min(mixedMm, 0.2 * (toS - fromS));
  const within = meanTrail(trail, fromS + inset, toS - inset);
  const before = meanTrail(trail, fromS - mixedMm - besideMm, fromS - mixedMm);
  const after = meanTrail(trail, toS + mixedMm, toS + mixedMm + besideMm);
  const sum = meanTrail(trail, fromS, toS) * (toS - fromS);
  if (Number.isNaN(within + before + after + sum)) return null;
  return { within, step: within - Math.max(before, after), sum };
}

/** Rows on each side of a step that must be rail, and table, plainly: more plainly on one side if less on the other. */
const stepRowsMm = 6;
const plainRail = -0.5;
const plainTable = 1.2;
const plainStep = 2;

/**
 * Where rails give way to table from one row to the next, near a place.
 * @param towards +1 when the rails end in the direction of growing s
 * @returns the place between the rows, along the line; null where it is not plain
 */
export function stepInTrail(trail: TableTrail, nearS: number, towards: 1 | -1): number | null {
  const { startS, stepMm, like } = trail;
  const near = Math.round((nearS - startS) / stepMm);
  for (const i of [near, near - 1, near + 1, near - 2, near + 2]) {
    const [rail, table] = [like[i - towards], like[i]];
    if (!(rail < 0 && table > 0)) continue;
    const s = startS + stepMm * (i - (towards * table) / (table - rail));
    const behind = meanTrail(trail, ...sorted(s - towards * stepRowsMm, s));
    const beyond = meanTrail(trail, ...sorted(s, s + towards * stepRowsMm));
    if (behind < plainRail && beyond > plainTable && beyond - behind > plainStep) return s;
  }
  return null;
}

const sorted = (a: number, b: number): [number, number] => [Math.min(a, b), Math.max(a, b)];
