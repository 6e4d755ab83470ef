import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { CentreLine } from '../../scene/rail-joint.js';
import type { RailTrace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';

type Place = { readonly x: number; readonly y: number };

/** Carries places of the rails over from one camera to another: where what one shows there lies with the other. */
export function carrier(from: Camera, to: Camera, track: TrackProfile): (place: Place) => Place {
  const height = track.railTopMm - track.headWidthMm / 2;
  return ({ x, y }) => {
    const p = photoFromTable(from, x, y, height);
    return tableFromPhotoAtHeight(to, p.x, p.y, height);
  };
}

/** A place of a line with its heading, carried over. */
function withHeading(carried: (place: Place) => Place, { x, y, headingRad }: Place & { readonly headingRad: number }) {
  const at = carried({ x, y });
  const ahead = carried({ x: x + Math.cos(headingRad), y: y + Math.sin(headingRad) });
  return { ...at, headingRad: Math.atan2(ahead.y - at.y, ahead.x - at.x) };
}

/** A centre line carried over like a trace; places along it keep their numbers, though they lie farther apart or nearer. */
export function carryLine(line: CentreLine, carried: (place: Place) => Place): CentreLine {
  return { ...line, places: line.places.map((place) => withHeading(carried, place)) };
}

/**
 * A trace is what one photo shows, written down in the table frame of the camera that it was followed with. When the
 * camera is solved anew, the same places of the photo lie elsewhere on the table: this carries them over.
 */
export function carryTrace(trace: RailTrace, from: Camera, to: Camera, track: TrackProfile): RailTrace {
  const carried = carrier(from, to, track);
  return {
    ...trace,
    samples: trace.samples.map((sample) => {
      const { x, y, headingRad: before } = sample;
      const at = withHeading(carried, sample);
      const { headingRad } = at;
      const left = carried({ x: x - 10 * Math.sin(before), y: y + 10 * Math.cos(before) });
      const scale = (-(left.x - at.x) * Math.sin(headingRad) + (left.y - at.y) * Math.cos(headingRad)) / 10;
      // Offsets of the rails are nominal in both frames; what the scale changes of them goes into the sideways place.
      const [right, centre, leftRail] = sample.sidewaysMm;
      const outer = track.gaugeMm / 2 + track.headWidthMm / 2;
      return {
        ...sample,
        x: at.x,
        y: at.y,
        headingRad,
        sidewaysMm: [(right - outer) * scale + outer, centre * scale, (leftRail + outer) * scale - outer] as const,
      };
    }),
  };
}
