import { z } from 'zod';

/** What a photo that has just arrived could do better; in the order in which a person should care. */
export const photoRemarks = [
  'no-marker',
  'blurred',
  'cropped',
  'table-cut',
  'flat',
  'small-marker',
  'glare',
  'dark',
] as const;
export type PhotoRemark = (typeof photoRemarks)[number];

/** What is told of one photo before it is measured. Unknown is null, never guessed. */
export const photoLookSchema = z.object({
  remarks: z.array(z.enum(photoRemarks)),
  /** Numbers of the markers that can be read. */
  markers: z.array(z.number()),
  /** Angle between the view and straight down. */
  tiltRad: z.number().nullable(),
  /** False when a side or a corner of the table lies outside the picture. */
  wholeTable: z.boolean().nullable(),
  /** Width of the sharpest edges from 10 to 90 % of their height. */
  edgeWidthPx: z.number().nullable(),
});

export type PhotoLook = z.infer<typeof photoLookSchema>;
