import { type Estimate, halfWidth95 } from '../units/estimate.js';
import { namedJoints } from './joint-names.js';
import type { Plan } from './plan.js';
import type { Report } from './report.js';
import { narrowestSpacing } from './spacing-extremes.js';

/** What counts as met, millimetres. */
export interface CheckTolerances {
  /** A joint may stand open this far, 3/32 in: a little more than loose track that was pushed together; practice, no source. */
  readonly jointMm: number;
  /** A clearance or spacing may differ this far from the plan, 1/8 in: practice, no source. */
  readonly clearanceMm: number;
}

export const defaultCheckTolerances: CheckTolerances = { jointMm: 2.38125, clearanceMm: 3.175 };

export type Verdict = 'good' | 'off' | 'too close to call' | 'not measured';

export interface CheckRow {
  readonly kind: 'joint' | 'clearance' | 'spacing';
  readonly name: string;
  readonly at: readonly [number, number] | null;
  readonly plannedMm: number;
  readonly measured: Estimate | null;
  /** Measured − planned, with the uncertainty of both where the plan states its own. */
  readonly difference: Estimate | null;
  readonly verdict: Verdict;
}

/**
 * Planned against measured after the cuts, joint by joint and side by side. A verdict is only given where the 95 %
 * interval of the difference lies wholly inside or wholly outside the tolerance.
 * @param measured report of new photos of the laid table; its sides carry the same names as before
 */
export function checkRows(
  plan: Plan,
  measured: Report,
  jointAllowanceMm = 0,
  tolerances: CheckTolerances = defaultCheckTolerances,
): CheckRow[] {
  const joints = namedJoints(measured).map(({ joint, name }): CheckRow => {
    const difference = { value: joint.gap.value - jointAllowanceMm, u: joint.gap.u };
    const verdict = verdictOf(difference, tolerances.jointMm);
    return { kind: 'joint', name, at: joint.at, plannedMm: jointAllowanceMm, measured: joint.gap, difference, verdict };
  });
  const clearances = plan.predicted.clearances.map((planned): CheckRow => {
    const found = measured.clearances
      .filter((c) => c.side === planned.side)
      .sort((a, b) => a.distance.value - b.distance.value)[0];
    const at = found?.at ?? null;
    const row = compared(planned.distance, found?.distance ?? null, tolerances.clearanceMm);
    return { kind: 'clearance', name: `side ${planned.side}`, at, ...row };
  });
  const spacings = (plan.predicted.spacings ?? []).map((planned): CheckRow => {
    const found = narrowestSpacing(measured, planned.runs);
    const row = compared(planned.distance, found?.distance ?? null, tolerances.clearanceMm);
    return { kind: 'spacing', name: `${planned.runs[0]} to ${planned.runs[1]}`, at: found?.at ?? null, ...row };
  });
  return [...joints, ...clearances, ...spacings];
}

function compared(
  planned: Estimate,
  measured: Estimate | null,
  toleranceMm: number,
): Pick<CheckRow, 'plannedMm' | 'measured' | 'difference' | 'verdict'> {
  if (measured === null) return { plannedMm: planned.value, measured, difference: null, verdict: 'not measured' };
  // The plan's own uncertainty is what the check is there to see, so it does not widen the verdict.
  const difference = { value: measured.value - planned.value, u: measured.u };
  return { plannedMm: planned.value, measured, difference, verdict: verdictOf(difference, toleranceMm) };
}

function verdictOf(difference: Estimate, toleranceMm: number): Verdict {
  const half = halfWidth95(difference);
  const off = Math.abs(difference.value);
  if (off + half <= toleranceMm) return 'good';
  return off - half > toleranceMm ? 'off' : 'too close to call';
}
