import { gapToldBy, type RuledGap, type ToldBy } from '../../server/contract/gap-readings.js';
import { type NamedJoint, namedJoints } from '../../server/contract/joint-names.js';
import { pieceName } from '../../server/contract/laid-anew.js';
import type { Report, ReportPhoto } from '../../server/contract/report.js';
import { spacingExtremes } from '../../server/contract/spacing-extremes.js';
import type { StoredPhoto } from '../../server/contract/tables.js';
import type { Estimate } from '../../server/units/estimate.js';
import { footOnSide, type Pair } from './track-lines.js';

export type ThingKind = 'gap' | 'clearance' | 'spacing' | 'side' | 'joint' | 'curve' | 'straight' | 'profile';

/** One measured length that a person can choose, in the list or on the picture. */
export interface MeasuredThing {
  readonly id: string;
  readonly kind: ThingKind;
  /** `Gap 1`, `Rail to edge A`: the name everywhere on the page. */
  readonly name: string;
  readonly length: Estimate;
  /** Who tells the length of a gap in which a rule was laid. */
  readonly toldBy?: ToldBy;
  readonly run: string | null;
  /** Where it lies, table millimetres. */
  readonly at: Pair;
  /** Files of the photos that show it; empty when the report does not say. */
  readonly photos: readonly string[];
}

/** Open joints first, then clearances, spacings, sides, joints that are closed, curves and straights. */
export function measuredThings(report: Report): MeasuredThing[] {
  const joints = namedJoints(report);
  return [
    ...joints.filter(({ joint }) => joint.open).map(jointThing),
    ...clearances(report),
    ...spacings(report),
    ...sides(report),
    ...joints.filter(({ joint }) => !joint.open).map(jointThing),
    ...pieces(report),
  ];
}

/** The same, gaps in which a rule was laid as long as counts there. */
export function thingsByRule(things: readonly MeasuredThing[], ruled: readonly RuledGap[]): readonly MeasuredThing[] {
  if (ruled.length === 0) return things;
  return things.map((thing) => {
    const read = ruled.find(({ joint }) => thing.id === `joint:${joint}`);
    return read ? { ...thing, length: read.length, toldBy: gapToldBy(read) } : thing;
  });
}

/** One point of the profile as a thing that can be chosen; null when there is no such point. */
export function profileThing(report: Report, id: string): MeasuredThing | null {
  const index = /^profile:(\d+)$/.exec(id)?.[1];
  const point = index === undefined ? undefined : report.profile[Number(index)];
  if (!point) return null;
  const { side, run, distance, at, seen } = point;
  return { id, kind: 'profile', name: `Rail to edge ${side} here`, length: distance, run, at, photos: photosOf(seen) };
}

function jointThing({ joint, name }: NamedJoint): MeasuredThing {
  return {
    id: `joint:${joint.id}`,
    kind: joint.open ? 'gap' : 'joint',
    name,
    length: joint.gap,
    run: joint.run,
    at: joint.at,
    photos: photosOf(joint.seen),
  };
}

function clearances(report: Report): MeasuredThing[] {
  const runs = new Set(report.clearances.map((c) => c.run));
  return report.clearances.map((c, i) => ({
    id: `clearance:${i}`,
    kind: 'clearance',
    name: runs.size > 1 ? `Rail to edge ${c.side}, run ${c.run}` : `Rail to edge ${c.side}`,
    length: c.distance,
    run: c.run,
    at: c.at,
    photos: photosOf(c.seen),
  }));
}

function spacings(report: Report): MeasuredThing[] {
  return spacingExtremes(report).flatMap(({ runs, narrowest, widest }) => {
    const name = `Spacing ${runs[0]} to ${runs[1]}`;
    return widest === null
      ? [spacingThing(report, narrowest, name)]
      : [spacingThing(report, narrowest, `${name}, narrowest`), spacingThing(report, widest, `${name}, widest`)];
  });
}

function spacingThing(report: Report, index: number, name: string): MeasuredThing {
  const { distance, at, seen } = report.spacings[index];
  return { id: `spacing:${index}`, kind: 'spacing', name, length: distance, run: null, at, photos: photosOf(seen) };
}

function sides(report: Report): MeasuredThing[] {
  return report.table.sides
    .filter((side) => side.seen !== false)
    .map((side) => ({
      id: `side:${side.name}`,
      kind: 'side',
      name: `Table side ${side.name}`,
      length: side.length,
      run: null,
      at: [(side.from[0] + side.to[0]) / 2, (side.from[1] + side.to[1]) / 2],
      photos: [],
    }));
}

function pieces(report: Report): MeasuredThing[] {
  return report.runs.flatMap((run) =>
    run.pieces.map((piece, i): MeasuredThing => {
      const base = { id: `piece:${run.id}:${i}`, run: run.id, photos: [] };
      if (piece.kind === 'straight') {
        const at: Pair = [(piece.from[0] + piece.to[0]) / 2, (piece.from[1] + piece.to[1]) / 2];
        return { ...base, kind: 'straight', name: `${pieceName(i)} of ${run.id}`, length: piece.length, at };
      }
      return {
        ...base,
        kind: 'curve',
        name: `Curve ${i + 1} of ${run.id}, radius`,
        length: piece.radius,
        at: middleOf(piece),
      };
    }),
  );
}

function middleOf(piece: { from: Pair; centre: Pair; sweepRad: number }): Pair {
  const start = Math.atan2(piece.from[1] - piece.centre[1], piece.from[0] - piece.centre[0]);
  const radius = Math.hypot(piece.from[0] - piece.centre[0], piece.from[1] - piece.centre[1]);
  const angle = start + piece.sweepRad / 2;
  return [piece.centre[0] + radius * Math.cos(angle), piece.centre[1] + radius * Math.sin(angle)];
}

/** Where a clearance meets the table edge: as reported, or the foot on that side. */
export function edgePoint(report: Report, clearance: Report['clearances'][number]): Pair {
  const side = report.table.sides.find((s) => s.name === clearance.side);
  return clearance.edgeAt ?? (side ? footOnSide(side, clearance.at) : clearance.at);
}

/** The report speaks of photos by the name of their file. */
export function photoInReport(report: Report | null, photo: Pick<StoredPhoto, 'id' | 'name'>): ReportPhoto | undefined {
  return report?.photos.find((p) => p.file === photo.id || p.file === photo.name);
}

function photosOf(seen: readonly { readonly photo: string }[]): string[] {
  return [...new Set(seen.map((s) => s.photo))];
}
