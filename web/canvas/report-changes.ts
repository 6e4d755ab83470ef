import type { Report } from '../../server/contract/report.js';
import type { Estimate } from '../../server/units/estimate.js';
import { type MeasuredThing, measuredThings } from './measured-things.js';

/** One thing that two measurements of a table see differently. */
export interface Change {
  readonly name: string;
  /** Null: it was not there. */
  readonly before: Estimate | null;
  /** Null: it is no longer there. */
  readonly after: Estimate | null;
}

/** Gaps are the same when one photo shows their middles this near to each other, pixels: the table frame may have turned. */
const samePlacePx = 40;
/** A smaller change is not told: nobody cuts to it. */
const leastToldMm = 0.4;

const told: readonly MeasuredThing['kind'][] = ['gap', 'clearance', 'spacing', 'side'];

/** The changes where both measurements were made from the same photos, so that corrections and settings made them; else null. */
export function changesOnSamePhotos(before: Report, after: Report): Change[] | null {
  const files = (r: Report): string => JSON.stringify(r.photos.map((p) => p.file).sort());
  return files(before) === files(after) ? changesBetween(before, after) : null;
}

/** What a person would want to know of a new measurement: gaps, clearances, spacings and sides that differ. */
export function changesBetween(before: Report, after: Report): Change[] {
  const [old, now] = [before, after].map((r) => measuredThings(r).filter((t) => told.includes(t.kind)));
  const used = new Set<MeasuredThing>();
  const changes: Change[] = [];
  for (const thing of now) {
    const was = old.find((o) => !used.has(o) && isSame(before, o, after, thing));
    if (was) used.add(was);
    if (!was || Math.abs(was.length.value - thing.length.value) >= leastToldMm)
      changes.push({ name: thing.name, before: was?.length ?? null, after: thing.length });
  }
  for (const thing of old) if (!used.has(thing)) changes.push({ name: thing.name, before: thing.length, after: null });
  return changes;
}

function isSame(before: Report, a: MeasuredThing, after: Report, b: MeasuredThing): boolean {
  if (a.kind !== b.kind) return false;
  if (a.kind !== 'gap') return a.name === b.name;
  const seen = seenOf(after, b);
  return seenOf(before, a).some(({ photo, px }) =>
    seen.some((s) => s.photo === photo && Math.hypot(s.px[0] - px[0], s.px[1] - px[1]) < samePlacePx),
  );
}

function seenOf(report: Report, gap: MeasuredThing): Report['joints'][number]['seen'] {
  return report.joints.find((j) => `joint:${j.id}` === gap.id)?.seen ?? [];
}
