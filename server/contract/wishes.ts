import { z } from 'zod';

/** What the user wants of the layout. Everything but the format may be missing. */
export const wishesFormat = 'gapwright-wishes/1';

const pair = z.tuple([z.number(), z.number()]);

export const preferences = ['fewest-cuts', 'largest-loop', 'least-change'] as const;
export type Preference = (typeof preferences)[number];

/**
 * Ways to plan that are none of the preferences, offered beside a plan: no run changes its shape but for its gaps, which
 * become as few as can be; or every run may change, though none has to.
 */
export const otherWays = ['slide-together', 'take-up'] as const;
export type OtherWay = (typeof otherWays)[number];

/** Longest gap that a rule is laid in: steel rules are a metre long at most; common practice, no source. */
export const longestReadingMm = 1000;

/** One reading for each open gap of the largest tables, with room to spare. */
const mostReadings = 500;

/** What a steel rule says of an open gap. */
const gapReading = z.object({
  /** The joint as the report called it. */
  joint: z.string(),
  /** Where that joint lay, table frame: measured anew it may have another name, and is found again by its place. */
  at: pair,
  lengthMm: z.number().positive().max(longestReadingMm),
  /** Standard uncertainty; missing = that of a rule read with care. */
  uMm: z.number().positive().max(longestReadingMm).optional(),
});
export type GapReading = z.infer<typeof gapReading>;

export const wishesSchema = z.object({
  format: z.literal(wishesFormat),
  /** Every open gap is to be filled or taken up. */
  closeGaps: z.boolean().default(true),
  prefer: z.enum(preferences).default('fewest-cuts'),
  /** One of the other ways that was taken; where it leaves a wish unmet that `prefer` meets, it does not count. */
  way: z.enum(otherWays).optional(),
  clearance: z
    .array(
      z.object({
        side: z.string(),
        atLeastMm: z.number().nonnegative(),
        /** Along that side, from its `from` end; missing = all of it. */
        fromMm: z.number().nonnegative().optional(),
        toMm: z.number().nonnegative().optional(),
      }),
    )
    .default([]),
  keepFree: z
    .array(
      z.object({
        name: z.string(),
        centre: pair,
        widthMm: z.number().positive(),
        depthMm: z.number().positive(),
        angleRad: z.number().default(0),
        marginMm: z.number().nonnegative().default(0),
      }),
    )
    .default([]),
  spacing: z.array(z.object({ runs: z.tuple([z.string(), z.string()]), atLeastMm: z.number().positive() })).default([]),
  /** These pieces do not move; `pieces` index `runs[].pieces` of the report. */
  stay: z.array(z.object({ run: z.string(), pieces: z.array(z.number().int().nonnegative()) })).default([]),
  stepMm: z.number().positive().default(1.5875),
  /** Long enough for one tie and both pin ends: common practice, no source. */
  shortestFillerMm: z.number().positive().default(38.1),
  closingMm: z.number().positive().default(1.5),
  jointAllowanceMm: z.number().min(0).max(5).default(0),
  /** May sections that a plan takes out be used again, as straights or as donors? Missing = no. */
  allowFreed: z.boolean().optional(),
  /** Pieces whose track pins are at their `from` end; all others have them at their `to` end. */
  reversed: z.array(z.object({ run: z.string(), pieces: z.array(z.number().int().nonnegative()) })).optional(),
  /** Open gaps that were read with a rule: it counts there with the photo, or alone where they differ. Missing = none. */
  gapReadings: z.array(gapReading).max(mostReadings).optional(),
  /** A rail nearer to the table edge than this is flagged. Missing = 25 mm: practice, no source. */
  safetyMm: z.number().nonnegative().optional(),
  /** Longest car that is to run, for the train room. */
  car: z
    .object({ lengthMm: z.number().positive(), truckCentresMm: z.number().positive(), widthMm: z.number().positive() })
    .optional(),
});

export type Wishes = z.infer<typeof wishesSchema>;

export const noWishes: Wishes = wishesSchema.parse({ format: wishesFormat });
