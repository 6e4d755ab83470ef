import { evaluatePolynomial } from './polynomial.js';
import type { LineProjector, OutlineLine } from './table-lines.js';

/** s along a line, mm, is divided by this in the polynomials of shifts. */
export const alongMm = 1000;

/** A side's edge in the photo: a line of the table frame and a small shift from it that a wrong lens causes. */
export interface EdgeCurve {
  readonly line: OutlineLine;
  /** Shift outwards in photo pixels, polynomial of s/alongMm, lowest power first. */
  readonly shiftPx: readonly number[];
  /** Stretch between the corners, mm; infinite where there is none. */
  readonly fromMm: number;
  readonly toMm: number;
}

/** A place on an edge curve with the photo normal there. */
export interface EdgePlace {
  /** s/alongMm. */
  readonly along: number;
  readonly x: number;
  readonly y: number;
  readonly nx: number;
  readonly ny: number;
}

/** Places on the curve about spacingPx apart, in order. */
export function placesOn(projector: LineProjector, curve: EdgeCurve, spacingPx: number, marginPx: number): EdgePlace[] {
  const line = projector.lineInPhoto(curve.line, spacingPx, marginPx);
  const places: EdgePlace[] = [];
  const at = (i: number): [number, number] => {
    const shift = evaluatePolynomial(curve.shiftPx, line.sMm[i] / alongMm);
    return [line.px[i] + shift * line.nx[i], line.py[i] + shift * line.ny[i]];
  };
  for (let i = 1; i < line.count - 1; i++) {
    if (line.sMm[i] < curve.fromMm || line.sMm[i] > curve.toMm) continue;
    const [x, y] = at(i);
    const [ax, ay] = at(i - 1);
    const [bx, by] = at(i + 1);
    const length = Math.hypot(bx - ax, by - ay);
    const sign = -(by - ay) * line.nx[i] + (bx - ax) * line.ny[i] < 0 ? -1 : 1;
    places.push({
      along: line.sMm[i] / alongMm,
      x,
      y,
      nx: (-sign * (by - ay)) / length,
      ny: (sign * (bx - ax)) / length,
    });
  }
  return places;
}

/** The curve moved outwards by a polynomial of s/alongMm, pixels. */
export function movedBy(curve: EdgeCurve, morePx: readonly number[]): EdgeCurve {
  const n = Math.max(curve.shiftPx.length, morePx.length);
  const shiftPx = Array.from({ length: n }, (_, k) => (curve.shiftPx[k] ?? 0) + (morePx[k] ?? 0));
  return { ...curve, shiftPx };
}
