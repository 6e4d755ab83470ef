import { z } from 'zod';

const pair = z.tuple([z.number(), z.number()]);

/** A place named by a table side, its part as seen by a person who stands outside and faces the table. */
const placeSchema = z.object({ side: z.string(), part: z.enum(['left', 'middle', 'right']) });

/** A length that is less sure than all others: a rail's clearance near a place, or a whole side. */
const leastSureSchema = z.object({
  what: z.enum(['clearance', 'side']),
  near: placeSchema,
  /** Standard uncertainty, millimetres. */
  u: z.number(),
  /** Where on the track; missing for a side. */
  at: pair.optional(),
});

/** What would help most, worked out from the measurement's own covariance; uncertainties are standard ones. */
const helpSchema = z.object({
  kind: z.enum(['marker', 'photo']),
  near: placeSchema,
  /** A photo straight above the table there, or a marker far from all sides. */
  inwards: z.boolean(),
  /** Middle of the marker, or the place below the phone. */
  at: pair,
  /** How high the phone is held above the table top. */
  heightMm: z.number().optional(),
  /** Markers that the photo has to show. */
  markers: z.array(z.number()).optional(),
  /** Of the least sure length once this is done. */
  thenU: z.number(),
  /** Share of the table top that only this photo shows. */
  showsMore: z.number().optional(),
});

/**
 * Where on the table the measurement is good to what: cells of the table frame, row by row from the corner where side A
 * begins. A number is the standard uncertainty, millimetres, of the distance from a rail in that cell to the nearest
 * table edge, read there in the photos at hand.
 */
export const coverageSchema = z.object({
  /** Width and height of a cell, about 50 mm. */
  cellMm: pair,
  /** Lower left corner of the first cell. */
  origin: pair,
  columns: z.number().int(),
  rows: z.number().int(),
  /** `not-seen`: in no photo; `covered`: track is hidden there; null: off the table, or no edge faces it. */
  cells: z.array(z.union([z.number(), z.enum(['not-seen', 'covered']), z.null()])),
  /** Ends of sides whose corner was not seen, with the marker nearest to each. */
  openEnds: z.array(placeSchema.extend({ marker: z.number() })),
  leastSure: leastSureSchema.nullable(),
  /**
   * The least sure of the report's own clearances. Those hold also how well the rails were followed there, where they end
   * and what hides them, so it may be less sure than what the photos could tell; missing in older reports.
   */
  listed: z.object({ side: z.string(), u: z.number() }).nullable().optional(),
  /** Best first; empty where nothing would help much. */
  helps: z.array(helpSchema),
});

export type Coverage = z.infer<typeof coverageSchema>;
export type CoverageHelp = Coverage['helps'][number];
export type LeastSure = NonNullable<Coverage['leastSure']>;
export type CoverageCell = Coverage['cells'][number];
