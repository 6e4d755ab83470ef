import type { ResidualSink } from '../../linalg/least-squares.js';
import type { Arc } from '../../scene/track-observation.js';

/** A table side measured with a tape, from corner to corner: where the sides before and after it cross it. */
export interface SideTapeObservation {
  /** Arcs of the side, and of its neighbours in the order round the table. */
  readonly side: number;
  readonly before: number;
  readonly after: number;
  readonly lengthMm: number;
  readonly uMm: number;
}

/** Where another side's line crosses, along this one, with derivatives by (x, y, heading) of this one and of the other. */
function crossing(arc: Arc, other: Arc): { s: number; bySelf: number[]; byOther: number[] } {
  const [c, s] = [Math.cos(arc.headingRad), Math.sin(arc.headingRad)];
  const [oc, os] = [Math.cos(other.headingRad), Math.sin(other.headingRad)];
  const [dx, dy] = [other.x - arc.x, other.y - arc.y];
  const across = -os * dx + oc * dy;
  const slant = -os * c + oc * s;
  const at = across / slant;
  return {
    s: at,
    bySelf: [os / slant, -oc / slant, (-at * (os * s + oc * c)) / slant],
    byOther: [-os / slant, oc / slant, (-oc * dx - os * dy + at * (oc * c + os * s)) / slant],
  };
}

/**
 * Sinks (length − tape)/u of one side.
 * @param places where each arc's (x, y, heading) stands among the parameters
 */
export function sideTapeResidual(
  tape: SideTapeObservation,
  arcs: readonly Arc[],
  places: readonly number[],
  sink: ResidualSink,
): void {
  const end = crossing(arcs[tape.side], arcs[tape.after]);
  const start = crossing(arcs[tape.side], arcs[tape.before]);
  const index: number[] = [];
  const derivative: number[] = [];
  for (let k = 0; k < 3; k++) {
    index.push(places[tape.side] + k, places[tape.after] + k, places[tape.before] + k);
    derivative.push(
      (end.bySelf[k] - start.bySelf[k]) / tape.uMm,
      end.byOther[k] / tape.uMm,
      -start.byOther[k] / tape.uMm,
    );
  }
  sink((end.s - start.s - tape.lengthMm) / tape.uMm, index, derivative, index.length);
}
