import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import type { RailTrace } from '../../scene/rail-trace.js';
import type { TrackProfile } from '../../scene/track-profile.js';

/**
 * A trace is what one photo shows, written down in the table frame of the camera that it was followed with. When the
 * camera is solved anew, the same places of the photo lie elsewhere on the table: this carries them over.
 */
export function carryTrace(trace: RailTrace, from: Camera, to: Camera, track: TrackProfile): RailTrace {
  const height = track.railTopMm - track.headWidthMm / 2;
  const carried = (x: number, y: number): { x: number; y: number } => {
    const p = photoFromTable(from, x, y, height);
    return tableFromPhotoAtHeight(to, p.x, p.y, height);
  };
  return {
    ...trace,
    samples: trace.samples.map((sample) => {
      const at = carried(sample.x, sample.y);
      const ahead = carried(sample.x + Math.cos(sample.headingRad), sample.y + Math.sin(sample.headingRad));
      const headingRad = Math.atan2(ahead.y - at.y, ahead.x - at.x);
      const left = carried(sample.x - 10 * Math.sin(sample.headingRad), sample.y + 10 * Math.cos(sample.headingRad));
      const scale = (-(left.x - at.x) * Math.sin(headingRad) + (left.y - at.y) * Math.cos(headingRad)) / 10;
      // Offsets of the rails are nominal in both frames; what the scale changes of them goes into the sideways place.
      const [right, centre, leftRail] = sample.sidewaysMm;
      const outer = track.gaugeMm / 2 + track.headWidthMm / 2;
      return {
        x: at.x,
        y: at.y,
        headingRad,
        sidewaysMm: [(right - outer) * scale + outer, centre * scale, (leftRail + outer) * scale - outer] as const,
      };
    }),
  };
}
