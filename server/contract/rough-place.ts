import type { LengthStyle } from '../units/format-length.js';
import { mmPerInch } from '../units/inches.js';
import type { Report } from './report.js';

/**
 * `by side A, 24 in from corner D/A`: the nearest side, and how far along it from the corner where it starts. Page and
 * paper both say this.
 * @param point table frame, millimetres
 */
export function roughPlace(point: readonly [number, number], report: Report, style: LengthStyle): string {
  const sides = report.table.sides;
  let best: { name: string; index: number; awayMm: number; alongMm: number } | null = null;
  sides.forEach((side, index) => {
    const dx = side.to[0] - side.from[0];
    const dy = side.to[1] - side.from[1];
    const length = Math.hypot(dx, dy);
    if (length === 0) return;
    const along = ((point[0] - side.from[0]) * dx + (point[1] - side.from[1]) * dy) / length;
    const held = Math.min(Math.max(along, 0), length);
    const awayMm = Math.hypot(
      point[0] - side.from[0] - (dx / length) * held,
      point[1] - side.from[1] - (dy / length) * held,
    );
    if (side.seen !== false && (best === null || awayMm < best.awayMm))
      best = { name: side.name, index, awayMm, alongMm: held };
  });
  const found = best as { name: string; index: number; alongMm: number } | null;
  if (found === null) return '';
  const before = sides[(found.index + sides.length - 1) % sides.length];
  return `by side ${found.name}, ${roughly(found.alongMm, style)} from corner ${before.name}/${found.name}`;
}

/** A rough distance for finding a place: whole inches or centimetres. */
function roughly(lengthMm: number, style: LengthStyle): string {
  return style.unit === 'in' ? `${Math.round(lengthMm / mmPerInch)} in` : `${Math.round(lengthMm / 10)} cm`;
}
