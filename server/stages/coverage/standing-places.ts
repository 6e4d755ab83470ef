import { type Camera, cameraCentreInTable } from '../../geometry/camera.js';
import type { MeasuredSide } from '../../scene/measured-layout.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import { pointOnArc } from '../../scene/track-observation.js';
import { footOn } from './clearance-row.js';

/** Where along a side, as a person sees it who stands outside and faces the table. */
export type PartOfSide = 'left' | 'middle' | 'right';

export interface Standing {
  readonly side: string;
  readonly part: PartOfSide;
  /** False: held out over the table's side and aimed inwards; true: straight above. */
  readonly above: boolean;
  readonly camera: Camera;
}

/** A phone is held about so high above a table: arms up beside it, or from a firm step; common practice, no source. */
const heightRangeMm = [1000, 1900] as const;
/** How far over the table's edge arms hold it. */
const reachMm = 150;
/** Sides longer than this have a left and a right end worth telling apart. */
const longSideMm = 1400;
/** Shorter sides have no ends worth naming. */
const nameableMm = 500;

/** Left, middle or right of a side, seen from outside: the table lies on the left of a side, so it runs left to right. */
export function partOf(side: MeasuredSide, s: number): PartOfSide {
  const share = (s - side.fromS) / (side.toS - side.fromS);
  if (side.toS - side.fromS < nameableMm) return 'middle';
  return share < 1 / 3 ? 'left' : share > 2 / 3 ? 'right' : 'middle';
}

/** Cameras held up at every side, at its ends and its middle, and straight above, as high as the photos at hand. */
export function standingPlaces(solved: SolvedTable): Standing[] {
  const heights = solved.cameras.map((c) => cameraCentreInTable(c.cameraFromTable)[2]).sort((a, b) => a - b);
  const heightMm = Math.min(heightRangeMm[1], Math.max(heightRangeMm[0], heights[heights.length >> 1]));
  return solved.sides.flatMap((side) => {
    const length = side.toS - side.fromS;
    const places: [PartOfSide, number][] = [['middle', 0.5]];
    if (length > longSideMm) places.push(['left', 0.15], ['right', 0.85]);
    const depth = depthOf(solved, side);
    return places.flatMap(([part, share]) => {
      const s = side.fromS + share * length;
      const held = (awayMm: number, aimMm: number, above: boolean): Standing => {
        const at = pointOnArc(side.arc, s, awayMm);
        const aim = pointOnArc(side.arc, s, aimMm);
        const camera = lookingAt(solved, [at.x, at.y, heightMm], [aim.x, aim.y], side.arc.headingRad);
        return { side: side.name, part, above, camera };
      };
      return [held(reachMm, Math.min(0.45 * depth, 0.55 * heightMm), false), held(0.3 * depth, 0.3 * depth + 1, true)];
    });
  });
}

/** How deep the table is behind a side, as far as sides or track show. */
export function depthOf({ sides, runs }: SolvedTable, side: MeasuredSide): number {
  const ends = [
    ...sides.flatMap((s) => [pointOnArc(s.arc, s.fromS), pointOnArc(s.arc, s.toS)]),
    ...runs.flatMap((run) => run.pieces.map((p) => pointOnArc(p.arc, p.toS))),
  ];
  return Math.max(300, ...ends.map((p) => footOn(side, p.x, p.y).distanceMm));
}

/** The primary photo's lens at a place, the picture's x along a side. */
function lookingAt(
  solved: SolvedTable,
  at: readonly [number, number, number],
  aim: readonly [number, number],
  headingRad: number,
): Camera {
  const x = [Math.cos(headingRad), Math.sin(headingRad), 0];
  const down = [aim[0] - at[0], aim[1] - at[1], -at[2]];
  const along = down[0] * x[0] + down[1] * x[1];
  const z = [down[0] - along * x[0], down[1] - along * x[1], down[2]];
  const length = Math.hypot(...z);
  for (let k = 0; k < 3; k++) z[k] /= length;
  const y = [z[1] * x[2] - z[2] * x[1], z[2] * x[0] - z[0] * x[2], z[0] * x[1] - z[1] * x[0]];
  const rotation = [...x, ...y, ...z];
  const t = [0, 1, 2].map(
    (k) => -(rotation[3 * k] * at[0] + rotation[3 * k + 1] * at[1] + rotation[3 * k + 2] * at[2]),
  );
  return {
    lens: solved.cameras[solved.primary].lens,
    cameraFromTable: { rotation, translation: [t[0], t[1], t[2]] },
  };
}
