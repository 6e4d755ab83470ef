import type { MeasuredLayout, MeasuredPiece } from '../../server/scene/measured-layout.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { distancesAt, type FaceDistance } from '../../server/stages/measurements/distances.js';

/**
 * Distance of a place s on one piece of track to the one side of a table, which lies along y = -100 mm; of all that is
 * unknown only the piece's (x, y, heading) has a covariance.
 */
export function distanceToSide(
  piece: MeasuredPiece,
  covariance: readonly number[],
  s: number,
): FaceDistance['distance'] {
  const arc = { x: 0, y: -100, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 1000 };
  const layout: MeasuredLayout = {
    cameras: [],
    photoNames: [],
    photoSizesPx: [],
    track: tallTrack,
    railTopOffMm: 0,
    runs: [],
    sides: [{ name: 'A', arc, arcIndex: 1, fromS: -1000, toS: 1000, fromCorner: true, toCorner: true }],
    arcCovariance: (a, b) => (a === 0 && b === 0 ? covariance : new Array<number>(9).fill(0)),
  };
  const run = { id: 'R1', closed: false, photo: 0, pieces: [piece], joints: [], jointPlaces: [], hidden: [] };
  return distancesAt(layout, run, piece, s)[0].distance;
}
