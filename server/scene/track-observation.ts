/**
 * A short piece of a line on the table as the adjustment sees it: an arc through its middle. A straight has curvature 0.
 * Table frame, millimetres and radians; s runs along it from −halfLengthMm to +halfLengthMm.
 */
export interface Arc {
  readonly x: number;
  readonly y: number;
  readonly headingRad: number;
  /** 1/radius, left (counter-clockwise) positive, 1/mm. */
  readonly curvaturePerMm: number;
  readonly halfLengthMm: number;
}

/** Point at s along an arc and offsetMm to its left, with the heading there. */
export function pointOnArc(arc: Arc, s: number, offsetMm = 0): { x: number; y: number; headingRad: number } {
  putOnArc(arc, s, offsetMm, arc.curvaturePerMm, onePoint);
  return { x: onePoint[0], y: onePoint[1], headingRad: onePoint[2] };
}

const onePoint = new Float64Array(3);

/**
 * The same without a new object, as inner loops need it.
 * @param curvaturePerMm the arc's own, or what it would be
 * @param out takes x, y and heading
 */
export function putOnArc(arc: Arc, s: number, offsetMm: number, curvaturePerMm: number, out: Float64Array): void {
  const half = (curvaturePerMm * s) / 2;
  const chord = Math.abs(half) < 1e-9 ? s : (s * Math.sin(half)) / half;
  const headingRad = arc.headingRad + 2 * half;
  out[0] = arc.x + chord * Math.cos(arc.headingRad + half) - offsetMm * Math.sin(headingRad);
  out[1] = arc.y + chord * Math.sin(arc.headingRad + half) + offsetMm * Math.cos(headingRad);
  out[2] = headingRad;
}

/** Place along an arc of the point nearest to (x, y). */
export function alongArc(arc: Arc, x: number, y: number): number {
  const dx = x - arc.x;
  const dy = y - arc.y;
  const forward = dx * Math.cos(arc.headingRad) + dy * Math.sin(arc.headingRad);
  const left = -dx * Math.sin(arc.headingRad) + dy * Math.cos(arc.headingRad);
  const k = arc.curvaturePerMm;
  return Math.abs(k) < 1e-7 ? forward : Math.atan2(k * forward, 1 - k * left) / k;
}

/** One measured point: a line of the table (rail axis or table edge) crosses the photo here, square to `normal`. */
export interface LineObservation {
  readonly photo: number;
  readonly arc: number;
  /** Place along the arc. */
  readonly s: number;
  /** −1, 0, 1 for the right, centre and left rail; 0 for a table edge. */
  readonly rail: -1 | 0 | 1;
  readonly kind: 'rail' | 'edge';
  readonly px: number;
  readonly py: number;
  readonly normalX: number;
  readonly normalY: number;
  readonly sigmaPx: number;
}
