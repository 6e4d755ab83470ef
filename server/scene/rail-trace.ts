/** One place on a traced centre line, table frame, at the height of the rail axes. */
export interface TraceSample {
  readonly x: number;
  readonly y: number;
  readonly headingRad: number;
  /** Sideways place of each rail's axis against its nominal offset, right, centre, left; NaN where not seen. */
  readonly sidewaysMm: readonly [number, number, number];
  /** How far left of where the light puts them the heads' crests are seen, millimetres; missing where that is not told. */
  readonly crestAsideMm?: number;
}

/** Where the light stands that the rails mirror, table frame; far away for a window. */
export interface LightPlace {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

/** A row of joined track as followed in one photo; samples lie stepMm apart. */
export interface RailTrace {
  readonly photo: number;
  readonly closed: boolean;
  readonly stepMm: number;
  readonly light: LightPlace;
  readonly samples: readonly TraceSample[];
}
