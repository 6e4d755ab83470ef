import type { AdjustmentOutput } from '../stages/camera/adjustment.js';
import type { AdjustmentState } from '../stages/camera/adjustment-state.js';
import { fitMarker, type MarkerFit, markerMisfits, withoutMarker } from '../stages/camera/marker-fits.js';
import type { StartCamera } from '../stages/camera/start-camera.js';

/** Where all corners stay this near to where the adjustment wants them, in units of sigma, nothing is asked further. */
const smallMisfit = 1;
/**
 * Leaving out a marker that lies saves at least this much of the cost, which is half a chi-squared: one sheet that lies
 * flat has 8 coordinates and 3 unknowns, so it saves more than 20 once in 10^7 (chi-squared table, 5 degrees of freedom).
 */
const leastSaving = 20;
/** The only marker of a photo is doubted beyond this misfit: 8 residuals of which the camera takes up most. */
const loneMisfit = 2.5;
/** Two ways out that cost nearly the same, as a share of the saving, leave open which marker it is. */
const sameSaving = 0.15;
/** Places of one marker in two photos that differ by more are a sheet that was moved, millimetres. */
const movedMm = 1.5;

/** A marker that contradicts the others and the track. */
export interface LyingMarker {
  readonly id: number;
  /** `not-flat`: its corners fit no flat square; `moved`: they do in each photo, but in different places. */
  readonly kind: 'not-flat' | 'moved';
  /** False when it had to be kept, as the only one of a photo: then with a wider sigma. */
  readonly aside: boolean;
}

interface Trial {
  readonly marker: number;
  readonly start: StartCamera;
  readonly output: AdjustmentOutput;
  readonly saved: number;
}

export interface JudgedMarkers {
  readonly start: StartCamera;
  readonly state: AdjustmentState;
  readonly lying: readonly LyingMarker[];
  /** Two or more photos disagree about where markers lie, and nothing tells which of these markers moved. */
  readonly unsure: readonly number[];
}

/**
 * Finds sheets that curl, are lifted at a corner, or were moved between two photos: the whole adjustment is solved with
 * and without each suspect, and what is left tells which of them lies (leave-one-out; the robust loss alone would only
 * damp it). Marker by marker until the rest agree.
 * @param solved the adjustment with all markers
 */
export function judgeMarkers(
  start: StartCamera,
  state: AdjustmentState,
  markerSideMm: number,
  solved: AdjustmentOutput,
  solve: (start: StartCamera, state: AdjustmentState) => AdjustmentOutput,
): JudgedMarkers {
  const now = { start, state };
  const lying: LyingMarker[] = [];
  let all = solved;
  for (;;) {
    const misfits = markerMisfits(all, now.start.markerObservations);
    const worst = misfits.indexOf(Math.max(...misfits));
    if (misfits[worst] < smallMisfit) break;
    const trials = suspectsOf(now.start, misfits).map((marker) => {
      const without = withoutMarker({ ...now.start, state: now.state }, marker);
      const output = solve(without, without.state);
      return { marker, start: without, output, saved: all.cost - output.cost };
    });
    trials.sort((a, b) => b.saved - a.saved);
    const [best, second] = trials;
    if (!best || best.saved < leastSaving * varianceOf(best)) {
      // Nothing that could be left out: the marker stays, and counts as little as it agrees.
      if (keepsItsPhoto(now.start, worst) && misfits[worst] >= loneMisfit) {
        lying.push({ id: now.state.markers[worst].id, kind: 'not-flat', aside: false });
        now.start = loosened(now.start, worst, misfits[worst]);
      }
      break;
    }
    const verdict = verdictOn(best, now, markerSideMm);
    if (verdict === 'moved' && second && second.saved > (1 - sameSaving) * best.saved) {
      const ids = trials
        .filter((t) => t.saved > (1 - sameSaving) * best.saved)
        .map((t) => now.state.markers[t.marker].id);
      return { ...now, lying, unsure: ids.sort((a, b) => a - b) };
    }
    lying.push({ id: now.state.markers[best.marker].id, kind: verdict, aside: true });
    now.start = best.start;
    // The cameras stay those that the traces were made with.
    now.state = best.start.state;
    all = best.output;
  }
  return { ...now, lying, unsure: [] };
}

/** Markers that may be left out, those that fit worst first: a lens and a camera bend a long way to please one that lies. */
function suspectsOf(start: StartCamera, misfits: readonly number[]): number[] {
  return [...misfits.keys()]
    .filter((m) => !keepsItsPhoto(start, m))
    .sort((a, b) => misfits[b] - misfits[a])
    .slice(0, 6);
}

/** Whether a photo would be left without a marker. */
function keepsItsPhoto(start: StartCamera, marker: number): boolean {
  const photos = new Set(start.markerObservations.filter((o) => o.marker === marker).map((o) => o.photo));
  return [...photos].some((p) => !start.markerObservations.some((o) => o.photo === p && o.marker !== marker));
}

/**
 * The variance that a saving is judged by, from what the other markers' residuals are: no lens is quite as its model, and
 * corners may be found better than their sigma says, at best twice as well. Half of their freedom is taken up by the fit.
 */
function varianceOf(trial: Trial): number {
  const others = markerMisfits(trial.output, trial.start.markerObservations).sort((a, b) => a - b);
  return Math.max(0.25, 2 * (others[others.length >> 1] ?? 0) ** 2);
}

/** What a marker that was left out looks like to the cameras that the others hold. */
function verdictOn(trial: Trial, before: Pick<JudgedMarkers, 'start' | 'state'>, sideMm: number): LyingMarker['kind'] {
  const { state } = trial.output;
  const { id } = before.state.markers[trial.marker];
  const fits = before.start.markerObservations
    .filter((o) => o.marker === trial.marker)
    .map((o) => fitMarker(state.cameras[o.photo], o, id, sideMm * state.printScale));
  const misshapen = Math.max(...fits.map((f) => f.rmsMm));
  return farthest(fits) > Math.max(movedMm, 3 * misshapen) ? 'moved' : 'not-flat';
}

function farthest(fits: readonly MarkerFit[]): number {
  return Math.max(
    ...fits.flatMap((a) => fits.map((b) => Math.hypot(a.placed.x - b.placed.x, a.placed.y - b.placed.y))),
  );
}

function loosened(start: StartCamera, marker: number, factor: number): StartCamera {
  return {
    ...start,
    markerObservations: start.markerObservations.map((o) =>
      o.marker === marker ? { ...o, sigmaPx: o.sigmaPx * factor } : o,
    ),
  };
}
