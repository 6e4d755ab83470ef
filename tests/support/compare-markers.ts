import type { MarkerDetection } from '../../server/scene/marker-detection.js';
import type { TagTruth } from './render-tags.js';

export interface MarkerComparison {
  readonly found: number;
  readonly missed: readonly number[];
  readonly falseIds: readonly number[];
  /** Distance of every corner from the truth, px. */
  readonly errorsPx: readonly number[];
}

/** Sets detections beside the truth: a marker is found when id and place agree, corner by corner in the tag's order. */
export function compareMarkers(detections: readonly MarkerDetection[], truth: readonly TagTruth[]): MarkerComparison {
  const errorsPx: number[] = [];
  const missed: number[] = [];
  const used = new Set<MarkerDetection>();
  for (const tag of truth) {
    const limit = Math.max(4, 0.2 * tag.shortestSidePx);
    const match = detections.find(
      (d) => d.id === tag.id && !used.has(d) && cornerErrors(d, tag).every(([dx, dy]) => Math.hypot(dx, dy) < limit),
    );
    if (match === undefined) {
      missed.push(tag.id);
      continue;
    }
    used.add(match);
    errorsPx.push(...cornerErrors(match, tag).map(([dx, dy]) => Math.hypot(dx, dy)));
  }
  const falseIds = detections.filter((d) => !used.has(d)).map((d) => d.id);
  return { found: used.size, missed, falseIds, errorsPx };
}

function cornerErrors(detection: MarkerDetection, tag: TagTruth): [number, number][] {
  return detection.cornersInPhoto.map((c, i) => [c.x - tag.corners[2 * i], c.y - tag.corners[2 * i + 1]]);
}

/** The value below which a share of the values lies. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
}
