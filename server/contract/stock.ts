import { z } from 'zod';

/** What is at hand, beside what lies on the table. */
export const stockFormat = 'gapwright-stock/1';

export const stockSchema = z.object({
  format: z.literal(stockFormat),
  straights: z.array(z.object({ lengthMm: z.number().positive(), count: z.number().int().nonnegative() })).default([]),
  donors: z.array(z.object({ id: z.string().min(1), lengthMm: z.number().positive() })).default([]),
  /** Width that the blade removes; 1 mm for a hacksaw is common practice, no source. */
  kerfMm: z.number().min(0).max(10).default(1.0),
  reusableOffcutMm: z.number().nonnegative().default(60),
});

export type Stock = z.infer<typeof stockSchema>;

export const noStock: Stock = stockSchema.parse({ format: stockFormat });
