import { onTable, type TableEdgeInput } from './find-table-edge.js';
import { searchOutline } from './outline-search.js';
import { reducePhoto } from './reduced-photo.js';

/** A quick look: half as fine as the search that measures, and fewer lines. */
const quick = { reducedPx: 540, mostLines: 50 };
/** Sides that show less evidence say nothing. */
const leastEvidence = 0.3;
/** A corner nearer to the border than this share of the picture's width is as good as cut. */
const borderShare = 0.004;

/**
 * Whether a photo shows the whole table top, told from a search on a small picture: four sides whose corners all lie in
 * the picture. Half a second for 12 Mpx where all sides are clear.
 * @returns null when too little of the edge is seen to tell
 */
export function isWholeTableInPicture(input: TableEdgeInput): boolean | null {
  const { photo, camera } = input;
  const { widthPx, heightPx } = photo.raster;
  const on = onTable(input);
  if (on.markerCorners.length === 0) return null;
  const { sides, projector } = searchOutline(
    photo.raster,
    camera,
    on,
    reducePhoto(photo.raster, quick.reducedPx),
    quick.mostLines,
  );
  const clear = sides.filter((s) => s.evidence >= leastEvidence);
  if (clear.length < 2) return null;
  if (sides.length < 4) return false;
  const margin = borderShare * widthPx;
  return sides.every(({ curve }) => {
    const p = Number.isFinite(curve.toMm) ? projector.project(curve.line, curve.toMm, 0) : null;
    return p !== null && p.x > margin && p.y > margin && p.x < widthPx - margin && p.y < heightPx - margin;
  });
}
