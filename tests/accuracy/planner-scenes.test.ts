import { describe, expect, it } from 'vitest';
import { planFillers } from '../../server/planner/plan-fillers.js';
import { checkPlan } from '../support/check-plan.js';
import { hasScene, sceneReport } from '../support/scene-report.js';
import { stockOf, wishesOf } from '../unit/planner/plan-scene.js';

const step32 = 25.4 / 32;

/** Truth of a rendered scene as a perfect report; the planner must find what was left out when it was laid. */
async function planScene(name: string, wishes: Record<string, unknown>) {
  const { report, missing } = sceneReport(name);
  const asked = wishesOf({ stepMm: step32, ...wishes });
  const stock = stockOf([254, 254, 254, 254]);
  const planned = await planFillers(report, asked, stock, { alternatives: 0, timeLimitMs: 20_000 });
  if (!planned.ok) throw new Error(JSON.stringify(planned.problem));
  // Sections of the scenes are up to 0.6° askew: rows bow by up to about a millimetre.
  expect(checkPlan(report, asked, stock, planned.value, 1.5)).toEqual([]);
  expect(planned.value.unmet).toEqual([]);
  return { plan: planned.value, missing };
}

describe('fillers for the rendered scenes, from their truth', () => {
  it.skipIf(!hasScene('D1')).each(['D1', 'D2', 'D4b'])(
    '%s: each is the missing length within 1/32 in',
    async (name) => {
      const { plan, missing } = await planScene(name, { shortestFillerMm: 10 });
      expect(plan.fillers).toHaveLength(missing.size);
      for (const filler of plan.fillers) {
        expect(Math.abs(filler.lengthMm - (missing.get(filler.joint ?? '') ?? 0))).toBeLessThanOrEqual(step32 + 1e-6);
      }
    },
  );

  it.skipIf(!hasScene('D2'))('D2: one filler for all three gaps when two are too short for any', async () => {
    const { plan, missing } = await planScene('D2', {});
    const all = [...missing.values()].reduce((a, b) => a + b, 0);
    expect(plan.fillers).toHaveLength(1);
    expect(Math.abs(plan.fillers[0].lengthMm - all)).toBeLessThanOrEqual(step32 + 1e-6);
  });

  it.skipIf(!hasScene('D4b'))(
    'D4: gaps too short are met by longer pieces in the place of a half section',
    async () => {
      const { plan } = await planScene('D4b', {});
      const lengths = plan.fillers.map((f) => f.lengthMm).sort((a, b) => a - b);
      [44.45, 44.45, 127 + 22.2, 127 + 22.2].forEach((truth, i) => {
        expect(Math.abs(lengths[i] - truth)).toBeLessThanOrEqual(step32 + 1e-6);
      });
    },
  );

  it.skipIf(!hasScene('D7'))('D7: keeps 76 mm to every side although it lies 9 mm from one', async () => {
    const sides = ['A', 'B', 'C', 'D'].map((side) => ({ side, atLeastMm: 76.2 }));
    const { plan } = await planScene('D7', { clearance: sides });
    for (const c of plan.predicted.clearances) expect(c.distance.value).toBeGreaterThanOrEqual(76.19);
  });
});
