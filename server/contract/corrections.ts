import { z } from 'zod';

/**
 * What a person corrected by hand. Every position is in pixels of a named photo (upright, pixel centres at integers), so
 * that a correction keeps its meaning when the camera is solved anew and when photos are added. Each one is an
 * observation: measuring moves it onto what the picture shows nearby, and everything after it is computed again.
 */
export const correctionsFormat = 'gapwright-corrections/1';

/** A table has some dozens at most: a limit against a loop gone wrong on some device. */
const mostCorrections = 500;

/** No photo has pixels farther out; a line that long would be followed for ever. */
const farthestPx = 100_000;
const coordinate = z.number().min(-farthestPx).max(farthestPx);
const pixel = z.tuple([coordinate, coordinate]);
/** In a table's folder the photo's id, on the command line the name of its file. */
const base = { id: z.string().min(1).max(40), photo: z.string().min(1).max(255) };

const correctionSchema = z.discriminatedUnion('kind', [
  /** The corners of the table top as this photo shows it, one after the other round the table in either direction. */
  z.object({
    ...base,
    kind: z.literal('table-outline'),
    corners: z
      .array(
        z.object({
          at: pixel,
          /** True where a person put it; false where it only stands as it was found. */
          set: z.boolean(),
        }),
      )
      .min(3)
      .max(12),
  }),
  /** Track lies along this line, drawn on the centre rail. */
  z.object({ ...base, kind: z.literal('track-here'), line: z.array(pixel).min(2).max(200) }),
  /** What was taken for track along this line, drawn on its centre, is none. */
  z.object({ ...base, kind: z.literal('no-track-along'), line: z.array(pixel).min(2).max(400) }),
  /** Nothing within this outline is track. */
  z.object({ ...base, kind: z.literal('not-track'), area: z.array(pixel).min(3).max(100) }),
  /** One run ends here and another begins: no joint connects them. */
  z.object({ ...base, kind: z.literal('split'), at: pixel }),
  /** The two ends of runs nearest to these places belong to one run. */
  z.object({ ...base, kind: z.literal('join'), ends: z.tuple([pixel, pixel]) }),
  /** An open gap: the rails end at one of these places and begin again at the other. */
  z.object({ ...base, kind: z.literal('open-gap'), ends: z.tuple([pixel, pixel]) }),
  /** The rails end here: one end of a gap that was found, or the end of a run. */
  z.object({ ...base, kind: z.literal('rail-end'), at: pixel }),
  /** The rails go on here: there is no open gap. */
  z.object({ ...base, kind: z.literal('no-gap'), at: pixel }),
]);

export const correctionsSchema = z.object({
  format: z.literal(correctionsFormat),
  list: z.array(correctionSchema).max(mostCorrections).default([]),
});

export type Corrections = z.infer<typeof correctionsSchema>;
export type Correction = z.infer<typeof correctionSchema>;
export type CorrectionKind = Correction['kind'];
export type CorrectionOf<K extends CorrectionKind> = Extract<Correction, { kind: K }>;

export const noCorrections: Corrections = { format: correctionsFormat, list: [] };

/** What became of one correction in a measurement. */
export const correctionOutcomeSchema = z.object({
  id: z.string(),
  /** False when the picture offers nothing there that it could be taken for. */
  used: z.boolean(),
  /** How far measuring moved it onto the picture, pixels of its photo; null when nothing was moved. */
  movedPx: z.number().nullable(),
});

export type CorrectionOutcome = z.infer<typeof correctionOutcomeSchema>;
