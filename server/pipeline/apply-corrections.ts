import type { Correction, CorrectionOf, CorrectionOutcome, Corrections } from '../contract/corrections.js';
import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../geometry/camera.js';
import { photoPoint } from '../geometry/frames.js';
import type { Photo } from '../scene/photo.js';
import type { CentreLine } from '../scene/rail-joint.js';
import type { RailTrace, TraceSample } from '../scene/rail-trace.js';
import type { TableEdge } from '../scene/table-edge.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../scene/track-profile.js';
import type { JointsOfRun } from '../stages/joints/find-joints.js';
import { alongRun, type Marked, withGap, withoutGap, withRailEnd } from '../stages/joints/marked-ends.js';
import { isWithin, joinEnds, splitAt, withoutSamples } from '../stages/rails/cut-traces.js';
import { besideTrace, distanceTo, movedFrom, traceAlong } from '../stages/rails/drawn-track.js';
import { joinTraces } from '../stages/rails/join-traces.js';
import { edgeFromCorners } from '../stages/table-edge/edge-from-corners.js';
import type { TableEdgeInput } from '../stages/table-edge/find-table-edge.js';
import { gatherSides, type SideArc } from './adjust-table.js';

type Place = { readonly x: number; readonly y: number };

/** A place pointed at lies within this of the run or the end that is meant, millimetres. */
const pointedMm = 40;
/** Free ends this near to the ends of a drawn line go on into it. */
const touchingMm = 90;

/** The photos of one measurement with the cameras as solved so far. */
export interface SolvedPhotos {
  readonly photos: readonly Photo[];
  readonly cameras: readonly Camera[];
}

/**
 * Takes the corrections made by hand into one measurement, in their order, each where its stage has just spoken: runs
 * after they were found, the outline in the place of the search, rail ends after the joints. Positions are pixels of a
 * photo and go through the camera as it is solved at that moment, so they keep their meaning. Remembers what became of
 * each correction.
 */
export class HandCorrections {
  readonly #list: readonly Correction[];
  readonly #photoNames: readonly string[];
  readonly #track: TrackProfile;
  readonly #outcomes = new Map<string, CorrectionOutcome>();
  readonly #givenEdges = new Set<number>();

  constructor(corrections: Corrections | undefined, photoNames: readonly string[], track: TrackProfile) {
    this.#list = corrections?.list ?? [];
    this.#photoNames = photoNames;
    this.#track = track;
    for (const { id } of this.#list) this.#outcomes.set(id, { id, used: false, movedPx: null });
  }

  /** In the order of the corrections; undefined when there are none. */
  get outcomes(): CorrectionOutcome[] | undefined {
    return this.#list.length > 0 ? [...this.#outcomes.values()] : undefined;
  }

  /**
   * Corrects the runs.
   * @param which 'own': in the photo on which each correction was made, with any camera; 'others': in all other photos,
   * which needs cameras that agree with each other
   */
  runs(traces: readonly RailTrace[], solved: SolvedPhotos, which: 'own' | 'others', signal?: AbortSignal): RailTrace[] {
    let now = [...traces];
    for (const correction of this.#list) {
      const photo = this.#photoNames.indexOf(correction.photo);
      if (photo < 0) continue;
      const meant = (t: RailTrace): boolean => (t.photo === photo) === (which === 'own');
      if (correction.kind === 'track-here') {
        now = this.#withDrawn(now, correction, photo, solved, which, signal);
        continue;
      }
      const changed = this.#corrected(now.filter(meant), correction, solved.cameras[photo]);
      if (changed) now = [...now.filter((t) => !meant(t)), ...changed];
    }
    return now;
  }

  /** The outline of the table in one photo from the corners given for it; null when none were. */
  edge(photo: number, input: TableEdgeInput, signal?: AbortSignal): TableEdge | null {
    const given = this.#list.findLast(
      (c): c is CorrectionOf<'table-outline'> =>
        c.kind === 'table-outline' && c.photo === this.#photoNames[photo] && c.corners.some((k) => k.set),
    );
    if (!given) return null;
    const corners = given.corners.map((c) => ({ inPhoto: photoPoint(c.at[0], c.at[1]), set: c.set }));
    const found = edgeFromCorners(input, corners, signal);
    if (!found) return null;
    this.#givenEdges.add(photo);
    this.#note(given.id, found.movedPx);
    return found.edge;
  }

  /** Sides of all photos. Where an outline was given it says how many sides there are; other photos only add to those. */
  sides(edges: readonly { readonly photo: number; readonly edge: TableEdge }[]): SideArc[] {
    const isGiven = ({ photo }: { photo: number }): boolean => this.#givenEdges.has(photo);
    if (!edges.some(isGiven)) return gatherSides(edges);
    return gatherSides([...edges.filter(isGiven), ...edges.filter((e) => !isGiven(e))])
      .filter((side) => side.seen.some(isGiven))
      .map((side, place) => ({ ...side, place }));
  }

  /** Corrects what was found at the joints of one run. */
  joints(found: JointsOfRun, trace: RailTrace, line: CentreLine, { photos, cameras }: SolvedPhotos): JointsOfRun {
    let now = found;
    const run = { raster: photos[trace.photo].raster, camera: cameras[trace.photo], track: this.#track, line };
    for (const correction of this.#list) {
      const photo = this.#photoNames.indexOf(correction.photo);
      if (photo < 0) continue;
      const along = (at: readonly [number, number]): number | null =>
        alongRun(line, this.#onTable(cameras[photo], [at])[0]);
      const taken = this.#jointTaken(correction, run, now, along);
      if (!taken) continue;
      now = taken.found;
      this.#note(correction.id, taken.movedMm === null ? null : taken.movedMm * this.#pxPerMm(cameras[photo], line));
    }
    return now;
  }

  #jointTaken(
    correction: Correction,
    run: Parameters<typeof withGap>[0],
    found: JointsOfRun,
    along: (at: readonly [number, number]) => number | null,
  ): { found: JointsOfRun; movedMm: Marked['movedMm'] | null } | null {
    if (correction.kind === 'open-gap') {
      const [a, b] = correction.ends.map(along);
      return a === null || b === null ? null : withGap(run, found, a, b);
    }
    if (correction.kind !== 'rail-end' && correction.kind !== 'no-gap') return null;
    const s = along(correction.at);
    if (s === null) return null;
    if (correction.kind === 'rail-end') return withRailEnd(run, found, s);
    const without = withoutGap(found, s);
    return without && { found: without, movedMm: null };
  }

  /** Runs after one correction, or null when it says nothing about them or nothing lies there. */
  #corrected(traces: readonly RailTrace[], correction: Correction, camera: Camera): RailTrace[] | null {
    const places = (px: readonly (readonly [number, number])[]): Place[] => this.#onTable(camera, px);
    const taken = (changed: RailTrace[] | null): RailTrace[] | null => {
      if (changed) this.#note(correction.id, null);
      return changed;
    };
    switch (correction.kind) {
      case 'no-track-along': {
        const line = places(correction.line);
        const near = outsideFaceOffsetMm(this.#track);
        return taken(this.#without(traces, (s) => distanceTo(line, s.x, s.y) < near));
      }
      case 'not-track': {
        const area = places(correction.area);
        return taken(this.#without(traces, (s) => isWithin(area, s.x, s.y)));
      }
      case 'split':
        return taken(splitAt(traces, places([correction.at])[0], pointedMm));
      case 'join':
      case 'open-gap': {
        const [a, b] = places(correction.ends);
        // The ends of two runs may belong to one run with a gap between them; ends within a run need no joining.
        const joined = joinEnds(traces, [a, b], correction.kind === 'join' ? 2 * pointedMm : pointedMm);
        return correction.kind === 'join' ? taken(joined) : joined;
      }
      default:
        return null;
    }
  }

  #without(traces: readonly RailTrace[], isFalse: (sample: TraceSample) => boolean): RailTrace[] | null {
    return traces.some((t) => t.samples.some(isFalse)) ? withoutSamples(traces, isFalse) : null;
  }

  /** Adds the track along a drawn line; what was found there before gives way, ends that touch it go on into it. */
  #withDrawn(
    traces: readonly RailTrace[],
    correction: CorrectionOf<'track-here'>,
    own: number,
    { photos, cameras }: SolvedPhotos,
    which: 'own' | 'others',
    signal?: AbortSignal,
  ): RailTrace[] {
    let now = [...traces];
    const line = this.#onTable(cameras[own], correction.line);
    for (let photo = 0; photo < photos.length; photo++) {
      if ((photo === own) !== (which === 'own')) continue;
      const drawn = traceAlong(photos[photo].raster, photo, cameras[photo], this.#track, line, signal);
      if (!drawn) continue;
      if (photo === own)
        this.#note(correction.id, movedFrom(line, drawn) * this.#pxPerMm(cameras[own], { places: line }));
      const beside = besideTrace(drawn, outsideFaceOffsetMm(this.#track));
      const mine = withoutSamples(
        now.filter((t) => t.photo === photo),
        beside,
      );
      const touching = mine.filter((t) => !t.closed && endsTouch(t, drawn));
      const joined = joinTraces([drawn, ...touching]);
      now = [...now.filter((t) => t.photo !== photo), ...mine.filter((t) => !touching.includes(t)), ...joined];
    }
    return now;
  }

  /** Places on the table, at the height of the rail axes, that a photo shows at these pixels. */
  #onTable(camera: Camera, px: readonly (readonly [number, number])[]): Place[] {
    const height = this.#track.railTopMm - this.#track.headWidthMm / 2;
    return px.map(([x, y]) => tableFromPhotoAtHeight(camera, x, y, height));
  }

  #pxPerMm(camera: Camera, { places }: { readonly places: readonly Place[] }): number {
    const at = places[places.length >> 1];
    const height = this.#track.railTopMm - this.#track.headWidthMm / 2;
    const [a, b] = [0, 10].map((d) => photoFromTable(camera, at.x + d, at.y, height));
    return Math.hypot(b.x - a.x, b.y - a.y) / 10;
  }

  #note(id: string, movedPx: number | null): void {
    const before = this.#outcomes.get(id);
    this.#outcomes.set(id, { id, used: true, movedPx: movedPx ?? before?.movedPx ?? null });
  }
}

function endsTouch(a: RailTrace, b: RailTrace): boolean {
  const ends = (t: RailTrace): Place[] => [t.samples[0], t.samples[t.samples.length - 1]];
  return ends(a).some((p) => ends(b).some((q) => Math.hypot(p.x - q.x, p.y - q.y) < touchingMm));
}
