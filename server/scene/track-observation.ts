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
  putOnArc(arc, Math.cos(arc.headingRad), Math.sin(arc.headingRad), s, offsetMm, onePoint);
  return { x: onePoint[0], y: onePoint[1], headingRad: arc.headingRad + arc.curvaturePerMm * s };
}

const onePoint = new Float64Array(6);

/**
 * The same without a new object, as inner loops need it.
 * @param cos of the arc's heading
 * @param sin of the arc's heading
 * @param out takes x, y, cosine and sine of the heading there, and what x and y change by with the curvature (mm²)
 */
export function putOnArc(arc: Arc, cos: number, sin: number, s: number, offsetMm: number, out: Float64Array): void {
  const half = (arc.curvaturePerMm * s) / 2;
  const ch = Math.cos(half);
  const sh = Math.sin(half);
  // sin(half)/half and its derivative; below the limit the series are good to 1e-14 and 1e-10.
  const small = Math.abs(half) < 1e-3;
  const share = small ? 1 - (half * half) / 6 : sh / half;
  const shareByHalf = small ? -half / 3 : (ch - share) / half;
  const chord = s * share;
  // Directions of the chord and of the track at its end.
  const mx = cos * ch - sin * sh;
  const my = sin * ch + cos * sh;
  const tx = mx * ch - my * sh;
  const ty = my * ch + mx * sh;
  out[0] = arc.x + chord * mx - offsetMm * ty;
  out[1] = arc.y + chord * my + offsetMm * tx;
  out[2] = tx;
  out[3] = ty;
  const chordByCurvature = (s * s * shareByHalf) / 2;
  out[4] = chordByCurvature * mx - (chord * my * s) / 2 - offsetMm * tx * s;
  out[5] = chordByCurvature * my + (chord * mx * s) / 2 - offsetMm * ty * s;
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
