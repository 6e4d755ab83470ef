import { problem, problemLine } from '../contract/problems.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { MeasuredLayout } from '../scene/measured-layout.js';

/** What a person should know before trusting the lengths. */
export function warningsOf(
  layout: MeasuredLayout,
  detections: readonly (readonly MarkerDetection[])[],
): { code: string; message: string }[] {
  const out: { code: string; message: string }[] = [];
  if (layout.sides.length === 0) {
    const names = layout.photoNames.join(', ');
    out.push({ code: 'no-table-edge', message: problemLine(problem('no-table-edge', { name: names })) });
  }
  const ids = new Set(detections.flat().map((d) => d.id));
  if (ids.size === 1)
    out.push({
      code: 'one-marker',
      message:
        'Only one marker was seen. A second marker sheet near the other end of the table makes the far lengths surer.',
    });
  const hidden = layout.runs.reduce((n, run) => n + run.pieces.filter((p) => !p.seen).length, 0);
  if (hidden > 0)
    out.push({
      code: 'track-covered',
      message: `Track is covered in ${hidden} ${hidden === 1 ? 'place' : 'places'}. Lift away what stands there and take the photo again to measure it.`,
    });
  return out;
}
