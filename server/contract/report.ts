import { z } from 'zod';
import { correctionOutcomeSchema } from './corrections.js';
import { coverageSchema } from './coverage.js';

/**
 * The measurement report: what `measure` writes, the planner reads and the page shows. Lengths in millimetres, angles in
 * radians, picture positions in pixels of the upright photo. The table frame has its origin at a table corner, x along
 * the longer side, y towards the table, z up. Sides are named A, B, C … counter-clockwise from the side along x.
 */
export const reportFormat = 'gapwright-measurement/1';

const estimate = z.object({ value: z.number(), u: z.number() });
const pair = z.tuple([z.number(), z.number()]);
const seenAt = z.object({ photo: z.string(), px: pair });

const cameraSchema = z.object({
  fx: z.number(),
  fy: z.number(),
  cx: z.number(),
  cy: z.number(),
  k1: z.number(),
  k2: z.number(),
  p1: z.number(),
  p2: z.number(),
  rotation: z.array(z.array(z.number())),
  translation: z.array(z.number()),
});

const photoSchema = z.object({
  file: z.string(),
  widthPx: z.number(),
  heightPx: z.number(),
  camera: cameraSchema,
  rmsResidualPx: z.number(),
  markers: z.array(
    z.object({
      id: z.number(),
      cornersPx: z.array(pair),
      used: z.boolean(),
      reason: z.string().nullable(),
    }),
  ),
});

const straightSchema = z.object({
  kind: z.literal('straight'),
  from: pair,
  to: pair,
  headingRad: z.number(),
  length: estimate,
});

const curveSchema = z.object({
  kind: z.literal('curve'),
  from: pair,
  to: pair,
  centre: pair,
  /** Left (counter-clockwise) positive. */
  sweepRad: z.number(),
  /** Of the centre rail. */
  radius: estimate,
});

const distanceSchema = z.object({
  side: z.string(),
  run: z.string(),
  distance: estimate,
  /** The rail face. */
  at: pair,
  /** The foot on the table edge. */
  edgeAt: pair.optional(),
  seen: z.array(seenAt),
});

export const reportSchema = z.object({
  format: z.literal(reportFormat),
  photos: z.array(photoSchema),
  markers: z.array(z.object({ id: z.number(), sideMm: z.number(), centre: pair, corners: z.array(pair) })),
  table: z.object({
    outline: z.array(pair),
    sides: z.array(
      z.object({
        name: z.string(),
        from: pair,
        to: pair,
        length: estimate,
        /** True when this side was found in a picture; false when it only closes the outline. */
        seen: z.boolean().optional(),
      }),
    ),
  }),
  track: z.object({ railTopMm: z.number(), gaugeMm: z.number(), headWidthMm: z.number() }),
  runs: z.array(
    z.object({
      id: z.string(),
      closed: z.boolean(),
      pieces: z.array(z.discriminatedUnion('kind', [straightSchema, curveSchema])),
    }),
  ),
  joints: z.array(
    z.object({
      id: z.string(),
      run: z.string(),
      /** Middle of the gap on the centre line. */
      at: pair,
      open: z.boolean(),
      gap: estimate,
      rails: z
        .object({ left: estimate.nullable(), centre: estimate.nullable(), right: estimate.nullable() })
        .optional(),
      kinkRad: estimate.nullable().optional(),
      /** Index of the piece before and of the piece after the joint in its run's `pieces`. */
      pieces: z.tuple([z.number(), z.number()]).optional(),
      seen: z.array(seenAt),
    }),
  ),
  clearances: z.array(distanceSchema),
  profile: z.array(distanceSchema),
  spacings: z.array(
    z.object({ runs: z.tuple([z.string(), z.string()]), distance: estimate, at: pair, seen: z.array(seenAt) }),
  ),
  notSeen: z.array(z.object({ run: z.string(), from: pair, to: pair, why: z.string() })),
  warnings: z.array(z.object({ code: z.string(), message: z.string() })),
  /** Where a clearance is good to what, and what would help most; missing where no table edge was found. */
  coverage: coverageSchema.optional(),
  /** What became of the corrections made by hand, in their order; missing when there were none. */
  corrections: z.array(correctionOutcomeSchema).optional(),
});

export type Report = z.infer<typeof reportSchema>;
export type ReportPhoto = Report['photos'][number];
export type ReportCamera = ReportPhoto['camera'];
export type ReportRun = Report['runs'][number];
export type ReportPiece = ReportRun['pieces'][number];
export type ReportJoint = Report['joints'][number];
export type ReportSide = Report['table']['sides'][number];
