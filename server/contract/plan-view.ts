import { z } from 'zod';

/** Where the stored plan view picture lies: table = origin + (plan px) · mmPerPx, y up in the table, down in the picture. */
export const planViewSchema = z.object({
  widthPx: z.number(),
  heightPx: z.number(),
  mmPerPx: z.number(),
  /** Table position of the centre of the picture's first (top left) pixel, millimetres. */
  originInTable: z.tuple([z.number(), z.number()]),
  /** Height above the table at which the picture is true, millimetres. */
  heightMm: z.number(),
});

export type PlanView = z.infer<typeof planViewSchema>;
