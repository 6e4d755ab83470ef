import type { Car } from '../contract/car.js';

/** How far a car reaches from the centre line of a curve. Any unit, all the same. */
export interface Overhang {
  /** At its middle, towards the centre of the curve. */
  readonly inside: number;
  /** At its ends, away from it. */
  readonly outside: number;
}

/**
 * Exact overhang of a car whose trucks stand on a circle (both truck centres on the centre line, body straight):
 * inside R − √(R² − (B/2)²) + W/2, outside √((√(R² − (B/2)²) + W/2)² + (L/2)²) − R. Plane geometry; the usual
 * approximations err by up to 3 mm on the radii of table-top track.
 */
export function overhang(radius: number, car: Car): Overhang {
  const middle = Math.sqrt(radius ** 2 - (car.truckCentresMm / 2) ** 2);
  return {
    inside: radius - middle + car.widthMm / 2,
    outside: Math.hypot(middle + car.widthMm / 2, car.lengthMm / 2) - radius,
  };
}
