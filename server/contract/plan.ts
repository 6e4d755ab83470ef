import { z } from 'zod';
import { preferences } from './wishes.js';

/** The planner's answer. */
export const planFormat = 'gapwright-plan/1';

const pair = z.tuple([z.number(), z.number()]);
const estimate = z.object({ value: z.number(), u: z.number() });

const madeOf = z.union([
  z.object({ lengthMm: z.number(), count: z.number(), source: z.enum(['layout', 'stock']) }),
  z.object({ filler: z.string() }),
]);

const placedSection = z.union([
  z.object({ piece: z.number() }),
  z.object({ lengthMm: z.number(), source: z.enum(['layout', 'stock']) }),
  z.object({ filler: z.string() }),
]);

const endOfFiller = z.object({
  /** Pins that this end has when it comes off the donor. */
  has: z.enum(['pins', 'open']),
  needs: z.enum(['pins', 'open']),
  work: z.enum(['none', 'fit-pins', 'pull-pins']),
});

const tightPlace = z.object({
  run: z.string(),
  /** The table side, the zone's name or the other run; the same run where another part of it runs beside. */
  against: z.string(),
  kind: z.enum(['edge', 'zone', 'track']),
  roomMm: z.number(),
  at: pair,
});

const trainRoom = z.object({
  car: z.object({ lengthMm: z.number(), truckCentresMm: z.number(), widthMm: z.number() }),
  tightest: tightPlace.nullable(),
  places: z.array(tightPlace),
  /** How far the car reaches from the centre line on the tightest curve of each run. */
  overhangs: z
    .array(z.object({ run: z.string(), radiusMm: z.number(), insideMm: z.number(), outsideMm: z.number() }))
    .optional(),
});

const oneStep = z.object({
  /** How far the loop then fails to close; null for an open run. */
  closingMm: z.number().nullable(),
  clearances: z.array(z.object({ side: z.string(), changeMm: z.number() })),
});

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
      /** Joints that count with the allowance: thenMm = Σ made + joints · jointAllowanceMm. */
      joints: z.number().optional(),
      /** What lies where, in running order; pieces index the report's pieces of the run. */
      order: z.array(placedSection).optional(),
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
      /** False when a whole donor is used as it is. */
      cut: z.boolean().optional(),
      /** Track pins at its ends, seen along the run, and the work they make. */
      ends: z.tuple([endOfFiller, endOfFiller]).optional(),
      /** Ties that stay on it; one at least keeps its insulator under the centre rail. */
      ties: z.number().optional(),
      /** What this filler made one step too long, or too short, does to the closing and the clearances. */
      oneStepLonger: oneStep.optional(),
      oneStepShorter: oneStep.optional(),
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
      /** True when the donor is a section that the plan takes out of the layout. */
      freed: z.boolean().optional(),
    }),
  ),
  shift: z.record(z.string(), pair),
  predicted: z.object({
    clearances: z.array(z.object({ side: z.string(), distance: estimate })),
    closing: z.array(
      z.object({
        run: z.string(),
        dxMm: z.number(),
        dyMm: z.number(),
        /** Angle that each joint has to take up. */
        kinkRad: z.number(),
        /** The whole misclosure of heading, and the joints it is spread over. */
        misclosureRad: z.number().optional(),
        joints: z.number().optional(),
        /** Standard uncertainty of dx and dy. */
        uMm: z.number().optional(),
      }),
    ),
    /** How far the far end of each open run moves from where it was, its first point put back. */
    ends: z.array(z.object({ run: z.string(), dxMm: z.number(), dyMm: z.number() })).optional(),
    spacings: z.array(z.object({ runs: z.tuple([z.string(), z.string()]), distance: estimate })).optional(),
  }),
  unmet: z.array(z.object({ wish: z.string(), shortByMm: z.number(), cure: z.string().optional() })),
  warnings: z.array(z.object({ code: z.string(), message: z.string() })).default([]),
  /** Settings the lengths were made with, repeated so that a cut sheet can be made from the plan alone. */
  kerfMm: z.number().optional(),
  stepMm: z.number().optional(),
  /** Which question this plan answers, and in one phrase how it differs. */
  prefer: z.enum(preferences).optional(),
  kind: z.string().optional(),
  cuts: z.number().optional(),
  changedSections: z.number().optional(),
  newTrackMm: z.number().optional(),
  /** Whether each step of the order was proved the best; if not, how far the best plan found may be from it. */
  search: z
    .object({
      proved: z.boolean(),
      /** A bound of null: none was found in the time. */
      open: z.array(z.object({ level: z.string(), value: z.number(), bound: z.number().nullable() })),
    })
    .optional(),
  /** Open gaps in which a rule was laid: what counts, what it says, what the photos say. Missing where none was. */
  byRule: z.array(z.object({ joint: z.string(), length: estimate, rule: estimate, photo: estimate })).optional(),
  /** Room that the user's longest car needs, where one was given. */
  trainRoom: trainRoom.optional(),
});

export type PlanWithoutAlternatives = z.infer<typeof planBase>;
export type Plan = PlanWithoutAlternatives & { alternatives: PlanWithoutAlternatives[] };

export const planSchema: z.ZodType<Plan, unknown> = planBase.extend({ alternatives: z.array(planBase).default([]) });
