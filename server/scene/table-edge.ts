import type { TablePoint } from '../geometry/frames.js';

/** One point on the upper edge of the table top, photo frame. */
export interface TableEdgePoint {
  readonly px: number;
  readonly py: number;
  /** Standard uncertainty along the normal. */
  readonly sigmaPx: number;
  /** Unit vector in the photo, square to the edge, pointing away from the table. */
  readonly normal: readonly [number, number];
}

/** One straight side of the table top, as far as the photo shows it. */
export interface TableSide {
  /** In order along `lineInTable.direction`, outliers taken out. */
  readonly points: readonly TableEdgePoint[];
  /** Line fitted at z = 0 with the camera that was given; the direction is a unit vector with the table on its left. */
  readonly lineInTable: { readonly through: TablePoint; readonly direction: readonly [number, number] };
  /** 0…1: how sure it is that this is the table's edge. */
  readonly certainty: number;
  /** Share of the side's length within the picture on which the edge was seen. */
  readonly seenRatio: number;
}

/** Where one side meets the next. */
export interface TableCorner {
  readonly inTable: TablePoint;
  readonly inPicture: boolean;
  /** The two sides, by their place in `sides`; the second follows the first counter-clockwise. */
  readonly sides: readonly [number, number];
}

/** The outline of the table top in one photo. Sides that lie outside the picture are missing, not invented. */
export interface TableEdge {
  /** Counter-clockwise as seen from above. */
  readonly sides: readonly TableSide[];
  readonly corners: readonly TableCorner[];
}
