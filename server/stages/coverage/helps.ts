import { cameraCentreInTable } from '../../geometry/camera.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import { clearanceRow, footOn, nearestSide } from './clearance-row.js';
import { freePlaces } from './free-places.js';
import type { Information } from './information.js';
import { depthOf, type PartOfSide, partOf, standingPlaces } from './standing-places.js';
import {
  type LengthKind,
  type ReadPlace,
  type SideLengthsU,
  type Sureness,
  surenessOf,
  type Worst,
} from './sureness.js';
import { shows, type TableArea } from './table-area.js';
import { informationOf, withMarker, withoutMarkers, withPhoto } from './what-if.js';

export interface NearSide {
  readonly side: string;
  readonly part: PartOfSide;
}

/** One thing more that would make the least sure length surer. Places in the table frame. */
export interface Help {
  readonly kind: 'marker' | 'photo';
  readonly near: NearSide;
  readonly inwards: boolean;
  readonly at: readonly [number, number];
  readonly heightMm?: number;
  readonly markers?: readonly number[];
  readonly thenU: number;
  readonly showsMore?: number;
}

/** What lessens the largest uncertainty by less than this share, or by less than this, is not worth the trouble. */
const leastShare = 0.2;
const leastGainMm = { clearance: 0.1, side: 0.25 };
/** Good enough to be left as it is: a clearance to 1/32 in at 95 %, half a step of filler lengths; a side to 2 mm. */
const goodUMm = { clearance: 0.405, side: 1 };
/** Of two that help alike the photo is chosen: nothing has to be taken again. */
const alike = 1.1;
/** A photo that shows so much more of the table top, as a share of it, comes first. */
const leastMore = 0.03;
/** Farther from every side than this share of the table's depth a place is named as inwards. */
const inwardsShare = 0.25;

/** What trials are judged by. */
export interface Wanted {
  readonly places: readonly ReadPlace[];
  readonly modelUMm: number;
  readonly sideLengthsU: SideLengthsU;
  /** Middles of cells of the table top that no photo shows, and how many cells it has. */
  readonly unseen: readonly { readonly x: number; readonly y: number }[];
  readonly onTable: number;
}

/** One thing tried, and how sure everything would be with it. */
export interface Trial {
  readonly help: Omit<Help, 'thenU'>;
  readonly then: Sureness;
}

/** Whether a kind of length should be surer than it is. */
export function isUnsure(kind: LengthKind, now: Worst | null): boolean {
  return now !== null && now.u > goodUMm[kind];
}

/** The best marker and the best photo that are worth the trouble, the better one first. */
export function bestOf(trials: readonly Trial[], kind: LengthKind, now: Worst | null): Help[] {
  const worth = trials.flatMap(({ help, then }) => {
    const thenU = then.worst(kind)?.u;
    if (thenU === undefined) return [];
    const gain = now ? now.u - thenU : 0;
    const isWorth = isMore(help) || (now !== null && gain >= Math.max(leastGainMm[kind], leastShare * now.u));
    return isWorth ? [{ help: { ...help, thenU }, meanU: then.meanU }] : [];
  });
  const best = (['photo', 'marker'] as const).flatMap((what) => {
    const own = worth.filter((w) => w.help.kind === what);
    return own.length === 0 ? [] : [own.reduce((a, b) => (isBetter(b, a) ? b : a)).help];
  });
  return best.sort((a, b) => rankOf(a) - rankOf(b));
}

function isMore({ showsMore }: Omit<Help, 'thenU'>): boolean {
  return (showsMore ?? 0) >= leastMore;
}

function rankOf(help: Help): number {
  if (isMore(help)) return 0;
  return help.kind === 'photo' ? help.thenU / alike : help.thenU;
}

/** After which the least sure length is surest; where that is nearly the same, that which helps all on average. */
function isBetter(a: { help: Help; meanU: number }, b: { help: Help; meanU: number }): boolean {
  const more = Math.round(20 * (a.help.showsMore ?? 0)) - Math.round(20 * (b.help.showsMore ?? 0));
  if (more !== 0) return more > 0;
  if (Math.abs(a.help.thenU - b.help.thenU) > 0.03 * b.help.thenU) return a.help.thenU < b.help.thenU;
  return a.meanU < b.meanU;
}

/** One more marker at each free place in turn, the photos taken again. */
export function tryMarkers(solved: SolvedTable, area: TableArea, wanted: Wanted): Trial[] {
  // Where the other markers lie says nothing more about a new one than cameras and sides do: fewer unknowns.
  const fewer = withoutMarkers(solved);
  const known = informationOf(fewer);
  if (!known) return [];
  return freePlaces(solved, area.contains).flatMap(({ x, y }) => {
    const side = nearestSide(solved.sides, x, y);
    const trial = side === null ? null : withMarker(fewer, known, { x, y });
    if (side === null || !trial) return [];
    const then = surenessOf(wanted.places, fewer, trial.covariance, wanted.modelUMm, wanted.sideLengthsU);
    const away = footOn(solved.sides[side], x, y).distanceMm;
    const inwards = away > inwardsShare * depthOf(solved, solved.sides[side]);
    return [{ help: { kind: 'marker', near: nearOf(solved, side, x, y), inwards, at: [x, y] }, then }];
  });
}

/** One more photo from each standing place in turn. */
export function tryPhotos(solved: SolvedTable, known: Information, wanted: Wanted): Trial[] {
  return standingPlaces(solved).flatMap(({ camera, side, part, above }) => {
    const trial = withPhoto(solved, known, camera);
    if (!trial) return [];
    const photo = trial.solved.cameras.length - 1;
    const seen = wanted.places.map((p): ReadPlace => {
      if (p.rows.has(solved.primary) || !shows(trial.solved, photo, p.x, p.y)) return p;
      return { ...p, rows: new Map([...p.rows, [photo, clearanceRow(trial.solved, photo, p.side, p.x, p.y)]]) };
    });
    const then = surenessOf(seen, trial.solved, trial.covariance, wanted.modelUMm, wanted.sideLengthsU);
    const [x, y, heightMm] = cameraCentreInTable(camera.cameraFromTable);
    const more = wanted.unseen.filter((p) => shows(trial.solved, photo, p.x, p.y)).length;
    const help = {
      kind: 'photo',
      near: { side, part },
      inwards: above,
      at: [x, y],
      heightMm,
      markers: trial.markers,
    } as const;
    return [{ help: wanted.unseen.length > 0 ? { ...help, showsMore: more / wanted.onTable } : help, then }];
  });
}

/** A place named by a side of the table. */
export function nearOf({ sides }: SolvedTable, side: number, x: number, y: number): NearSide {
  return { side: sides[side].name, part: partOf(sides[side], footOn(sides[side], x, y).s) };
}
