import { alongPiece } from '../../server/contract/along-piece.js';
import type { Report, ReportRun } from '../../server/contract/report.js';
import type { PictureFrame } from './picture-frame.js';
import type { NameWish } from './side-names.js';
import { type Pair, railOffsets } from './track-lines.js';
import type { Point } from './view.js';

/** The names of the runs that a picture shows, each beside the rails of its longest piece, on either side. */
export function runNames(report: Report, frame: PictureFrame): NameWish[] {
  return report.runs.flatMap((run): NameWish[] => {
    const places = placesBeside(run, report.track, frame);
    return places.length > 0 ? [{ thing: null, text: run.id, spoken: `Run ${run.id}`, places }] : [];
  });
}

function placesBeside(run: ReportRun, track: Report['track'], frame: PictureFrame): NameWish['places'] {
  const [outer] = railOffsets(track);
  const longest = run.pieces
    .map((piece) => ({ piece, count: alongPiece(piece, 0).length }))
    .reduce((a, b) => (b.count > a.count ? b : a));
  const middle = (longest.count - 1) / 2;
  const pointOn = ([x, y]: Pair): Point | null => frame.pictureFromTable(x, y, track.railTopMm);
  const centre = alongPiece(longest.piece, 0).map(pointOn);
  return [outer, -outer]
    .flatMap((offsetMm) => alongPiece(longest.piece, offsetMm).map((p, i) => ({ i, at: pointOn(p), from: centre[i] })))
    .sort((a, b) => Math.abs(a.i - middle) - Math.abs(b.i - middle))
    .flatMap(({ at, from }) => {
      if (!at || !from || at.x < 0 || at.y < 0 || at.x > frame.width || at.y > frame.height) return [];
      const far = Math.hypot(at.x - from.x, at.y - from.y);
      return far > 0 ? [{ at, out: { x: (at.x - from.x) / far, y: (at.y - from.y) / far } }] : [];
    });
}
