import type { PredictedEdge } from './edge-patch.js';
import type { MarkerFrame } from './marker-model.js';
import type { ModuleEdge } from './module-edges.js';
import type { EdgeFit } from './rough-edge.js';

/** Numbers of one marker in the common solution: eight of its homography and its spread. */
export const OWN_NUMBERS = 9;

/** The black square's corners in the tag's coordinates: upper left, upper right, lower right, lower left as printed. */
export const TAG_CORNERS = [
  [-1, -1],
  [1, -1],
  [1, 1],
  [-1, 1],
] as const;

export interface EdgeReading {
  readonly edge: ModuleEdge;
  readonly predicted: PredictedEdge;
  readonly fit: EdgeFit;
}

/** Everything known of one marker while it is refined. */
export interface MarkerState {
  readonly frame: MarkerFrame;
  readonly edges: readonly ModuleEdge[];
  /** One module in the tag's coordinates. */
  readonly unit: number;
  h: Float64Array;
  readings: EdgeReading[];
  /** How far bright areas reach into dark ones, px. */
  spreadPx: number;
  /** Covariance xx, xy, yy of the blur, px². */
  blur: readonly [number, number, number];
  solution: MarkerSolution | null;
}

export interface MarkerSolution {
  /** Corners in the tag's order x0 y0 … x3 y3, px, and their standard uncertainty (root mean square over coordinates). */
  readonly corners: Float64Array;
  readonly sigmaPx: number;
  /** Root mean square distance of the edges from the model, px, those set aside not counted. */
  readonly residualPx: number;
  /** Edges, and how many of them agree with the model. */
  readonly edgeCount: number;
  readonly agreeing: number;
  /** A corner, or most of a side, does not look like one: something covers it. */
  readonly covered: boolean;
}

/** What one edge's own scatter does not tell: print, paper, pixel grid, px and modules (common practice, no source). */
const EDGE_FLOOR_PX = 0.02;
const EDGE_FLOOR_MODULES = 0.001;

/** Standard uncertainty of where one edge lies along its normal. */
export function edgeSigmaPx({ fit, predicted }: EdgeReading): number {
  return Math.hypot(fit.sigmaPx, EDGE_FLOOR_PX, EDGE_FLOOR_MODULES * predicted.widthPx);
}
