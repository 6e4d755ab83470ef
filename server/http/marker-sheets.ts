import { Hono } from 'hono';
import { z } from 'zod';
import { problem } from '../contract/problems.js';
import { largestMarkerSideMm, markerSheetPdf, smallestMarkerSideMm } from '../exports/marker-sheet.js';
import { parseMarkerIds } from '../exports/parse-marker-ids.js';
import { orAnswer, ProblemAnswer } from './answer.js';
import { checked } from './read-json.js';

const querySchema = z.object({
  ids: z.string().max(200).default('0-5'),
  paper: z.enum(['letter', 'a4']).default('letter'),
  side: z.coerce.number().default(120),
});

/** Marker sheets to print. */
export function markerSheets(): Hono {
  return new Hono().get('/marker-sheet.pdf', async (c) => {
    const { ids, paper, side } = checked(querySchema, c.req.query());
    const most = Math.floor(largestMarkerSideMm(paper));
    if (!(side >= smallestMarkerSideMm && side <= most)) {
      const why = `a marker on this paper has a side of ${smallestMarkerSideMm} to ${most} mm`;
      throw new ProblemAnswer(problem('bad-field', { field: 'side', why }));
    }
    const pdf = await markerSheetPdf({ ids: orAnswer(parseMarkerIds(ids)), paper, sideMm: side });
    return c.body(new Uint8Array(pdf), 200, {
      'content-type': 'application/pdf',
      'content-disposition': `attachment; filename="marker-sheets-${side}-mm.pdf"`,
      'cache-control': 'no-store',
    });
  });
}
