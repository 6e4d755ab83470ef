import { z } from 'zod';

/** The planner's answer. */
export const planFormat = 'gapwright-plan/1';

const pair = z.tuple([z.number(), z.number()]);
const estimate = z.object({ value: z.number(), u: z.number() });

const madeOf = z.union([
  z.object({ lengthMm: z.number(), count: z.number(), source: z.enum(['layout', 'stock']) }),
  z.object({ filler: z.string() }),
]);

const planBase = z.object({
  format: z.literal(planFormat),
  stretches: z.array(
    z.object({
      run: z.string(),
      pieces: z.array(z.number()),
      headingRad: z.number(),
      nowMm: z.number(),
      thenMm: z.number(),
      made: z.array(madeOf),
    }),
  ),
  fillers: z.array(
    z.object({
      id: z.string(),
      lengthMm: z.number(),
      label: z.string(),
      run: z.string(),
      /** The joint of the report that it closes, where there is one. */
      joint: z.string().nullable().optional(),
      /** Measured length that the filler replaces, where it closes an open gap. */
      gap: estimate.nullable().optional(),
    }),
  ),
  donors: z.array(
    z.object({
      donor: z.string(),
      lengthMm: z.number(),
      pieces: z.array(z.string()),
      /** Where each piece ends, from the donor's pinned end, kerfs counted. */
      marksMm: z.array(z.number()),
      offcutMm: z.number(),
    }),
  ),
  shift: z.record(z.string(), pair),
  predicted: z.object({
    clearances: z.array(z.object({ side: z.string(), distance: estimate })),
    closing: z.array(z.object({ run: z.string(), dxMm: z.number(), dyMm: z.number(), kinkRad: z.number() })),
  }),
  unmet: z.array(z.object({ wish: z.string(), shortByMm: z.number(), cure: z.string().optional() })),
  warnings: z.array(z.object({ code: z.string(), message: z.string() })).default([]),
  /** Settings the lengths were made with, repeated so that a cut sheet can be made from the plan alone. */
  kerfMm: z.number().optional(),
  stepMm: z.number().optional(),
});

export type PlanWithoutAlternatives = z.infer<typeof planBase>;
export type Plan = PlanWithoutAlternatives & { alternatives: PlanWithoutAlternatives[] };

export const planSchema: z.ZodType<Plan, unknown> = planBase.extend({ alternatives: z.array(planBase).default([]) });
