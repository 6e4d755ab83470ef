import { alongPiece } from '../../server/contract/along-piece.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { distanceToLine } from './nearest-thing.js';
import type { Pair } from './track-lines.js';
import { inwardsOf } from './wish-marks.js';

type Zone = Wishes['keepFree'][number];

/** The size of something that stands beside the track. */
export interface Footprint {
  readonly name: string;
  readonly widthMm: number;
  readonly depthMm: number;
}

/** How far from a piece of track a touch may lie, millimetres: half a track and a finger. */
const besideTrackMm = 60;
const usualMarginMm = 5;

/** Puts something down with its middle at a place of the table, named so that no two are alike. */
export function putDown(wishes: Wishes, { name, widthMm, depthMm }: Footprint, centre: Pair): Wishes {
  const same = wishes.keepFree.filter((z) => z.name.startsWith(name)).length;
  const zone: Zone = {
    name: same > 0 ? `${name} ${same + 1}` : name,
    centre: [Math.round(centre[0]), Math.round(centre[1])],
    widthMm,
    depthMm,
    angleRad: 0,
    marginMm: usualMarginMm,
  };
  return { ...wishes, keepFree: [...wishes.keepFree, zone] };
}

/** Wishes room along the side nearest to a place, as far in as that place. A wish that the side has already is changed. */
export function roomUpTo(report: Report, wishes: Wishes, at: Pair, stepMm: number): Wishes {
  const near = [...report.table.sides].sort((a, b) => Math.abs(inwardsOf(a, at)) - Math.abs(inwardsOf(b, at)))[0];
  if (!near) return wishes;
  const atLeastMm = Math.max(0, Math.round(inwardsOf(near, at) / stepMm) * stepMm);
  const has = wishes.clearance.some((c) => c.side === near.name);
  const clearance = has
    ? wishes.clearance.map((c) => (c.side === near.name ? { ...c, atLeastMm } : c))
    : [...wishes.clearance, { side: near.name, atLeastMm }];
  return { ...wishes, clearance };
}

/** The piece of track at a place of the table, or null where none lies. */
export function pieceAt(report: Report, [x, y]: Pair): { run: string; piece: number } | null {
  let best: { run: string; piece: number } | null = null;
  let least = besideTrackMm;
  for (const run of report.runs) {
    run.pieces.forEach((piece, i) => {
      const line = alongPiece(piece, 0).map(([px, py]) => ({ x: px, y: py }));
      const off = distanceToLine(line, { x, y });
      if (off >= least) return;
      least = off;
      best = { run: run.id, piece: i };
    });
  }
  return best;
}

/** Makes a piece stay, or lets it move again. */
export function stayToggled(wishes: Wishes, run: string, piece: number): Wishes {
  const own = wishes.stay.filter((s) => s.run === run).flatMap((s) => s.pieces);
  const pieces = own.includes(piece) ? own.filter((p) => p !== piece) : [...own, piece].sort((a, b) => a - b);
  const others = wishes.stay.filter((s) => s.run !== run);
  return { ...wishes, stay: pieces.length > 0 ? [...others, { run, pieces }] : others };
}
