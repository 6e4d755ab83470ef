import { z } from 'zod';
import { correctionsSchema, noCorrections } from './corrections.js';
import type { Problem } from './problems.js';
import type { Progress } from './stages.js';
import { stockSchema } from './stock.js';
import { wishesSchema } from './wishes.js';

/** A table: everything about one dry fit. On disk it is one folder with this document as table.json beside the photos. */
export const tableFormat = 'gapwright-table/1';

export const tapeCheckSchema = z.object({
  /** Ids of two markers; the distance is between their middles. */
  from: z.number().int().nonnegative(),
  to: z.number().int().nonnegative(),
  lengthMm: z.number().positive(),
  /** Standard uncertainty of the tape; null means class II of Directive 2014/32/EU. */
  uMm: z.number().positive().nullable().default(null),
});

/** A whole table side, from corner to corner, measured with a tape. */
export const sideCheckSchema = z.object({
  /** As the report names it. */
  side: z.string().regex(/^[A-Z]$/, 'is not the name of a table side, one capital letter'),
  lengthMm: z.number().positive(),
  /** As for a tape check. */
  uMm: z.number().positive().nullable().default(null),
});

export const settingsSchema = z.object({
  track: z.union([z.literal('tall'), z.literal('low'), z.record(z.string(), z.unknown())]).default('tall'),
  markerSideMm: z.number().min(10).max(1000).default(120),
  unit: z.enum(['in', 'mm']).default('in'),
  denominator: z.union([z.literal(16), z.literal(32), z.literal(64)]).default(16),
  tapeChecks: z.array(tapeCheckSchema).default([]),
  sideChecks: z.array(sideCheckSchema).default([]),
  /** The user says that the corners of the table are square: they are held so where they measure nearly so. */
  squareCorners: z.boolean().default(false),
});

export const storedPhotoSchema = z.object({
  id: z.string(),
  name: z.string(),
  /** What the file holds; also the ending of its name on disk. */
  format: z.enum(['jpeg', 'png', 'webp', 'heic']).default('jpeg'),
  bytes: z.number(),
  widthPx: z.number(),
  heightPx: z.number(),
  added: z.string(),
});

export const tableSchema = z.object({
  format: z.literal(tableFormat),
  id: z.string(),
  name: z.string(),
  /** Grows with every change; a change must name the version it was made from. */
  version: z.number().int(),
  changed: z.string(),
  sample: z.boolean().default(false),
  settings: settingsSchema,
  photos: z.array(storedPhotoSchema),
  wishes: wishesSchema,
  stock: stockSchema,
  corrections: correctionsSchema.default(noCorrections),
  /** Version of the inputs (photos, settings, corrections) that the stored report was made from; null when there is none. */
  measuredInputs: z.string().nullable(),
});

export type Settings = z.infer<typeof settingsSchema>;
export type StoredPhoto = z.infer<typeof storedPhotoSchema>;
export type TableDocument = z.infer<typeof tableSchema>;
export type TapeCheck = z.infer<typeof tapeCheckSchema>;
export type SideCheck = z.infer<typeof sideCheckSchema>;

/** State of the work on one table. */
export type WorkState =
  | { readonly status: 'none' }
  | { readonly status: 'queued'; readonly ahead: number }
  | { readonly status: 'running'; readonly progress: Progress }
  | {
      readonly status: 'failed';
      readonly problem: Problem;
      /** Ids of the photos that the problem speaks of; without them it speaks of no photo, or is not known to. */
      readonly photos?: readonly string[];
    }
  | { readonly status: 'cancelled' }
  | { readonly status: 'done' };
