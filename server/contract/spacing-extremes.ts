import type { Report } from './report.js';

type ReportSpacing = Report['spacings'][number];

/** The narrowest and the widest place between two runs that lie side by side; indices into the report's `spacings`. */
export interface SpacingExtremes {
  readonly runs: ReportSpacing['runs'];
  readonly narrowest: number;
  /** Null where the runs are evenly spaced. */
  readonly widest: number | null;
}

/** Runs whose spacing differs by less along them are evenly spaced, millimetres. */
const leastSpreadMm = 2;

/** Each pair of runs once, whichever of them its spacings were measured from; in the report's order. */
export function spacingExtremes({ spacings }: Pick<Report, 'spacings'>): SpacingExtremes[] {
  const pairs = new Map<string, number[]>();
  spacings.forEach(({ runs }, i) => {
    const key = [...runs].sort().join(' ');
    const places = pairs.get(key);
    if (places) places.push(i);
    else pairs.set(key, [i]);
  });
  return [...pairs.values()].map((places) => {
    const sorted = [...places].sort((a, b) => spacings[a].distance.value - spacings[b].distance.value);
    const [narrowest, widest] = [sorted[0], sorted[sorted.length - 1]];
    const isEven = spacings[widest].distance.value - spacings[narrowest].distance.value < leastSpreadMm;
    return { runs: spacings[places[0]].runs, narrowest, widest: isEven ? null : widest };
  });
}

/** The narrowest place between two runs; null where they do not lie side by side. */
export function narrowestSpacing(report: Pick<Report, 'spacings'>, runs: readonly string[]): ReportSpacing | null {
  const pair = spacingExtremes(report).find((p) => p.runs.every((run) => runs.includes(run)));
  return pair ? report.spacings[pair.narrowest] : null;
}
