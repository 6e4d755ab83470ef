import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';

/** The family 36h11 has 587 codes. */
const greatestId = 586;
/** Pages of one file: more is a slip of the finger. */
const mostIds = 60;

/**
 * Reads marker ids as a person writes them: `0-5`, `3`, `0-2,7,9`.
 * @returns the ids in the order given, each once; or the problem bad-field
 */
export function parseMarkerIds(text: string): Result<number[], Problem> {
  const bad = (why: string): Result<number[], Problem> => failed(problem('bad-field', { field: 'ids', why }));
  const ids = new Set<number>();
  for (const part of text.split(',')) {
    const match = /^\s*(\d{1,4})\s*(?:-\s*(\d{1,4})\s*)?$/.exec(part);
    if (!match) return bad(`“${text}” is not written like 0-5 or 0,3,7`);
    const first = Number(match[1]);
    const last = match[2] === undefined ? first : Number(match[2]);
    if (first > greatestId || last > greatestId) return bad(`markers are numbered 0 to ${greatestId}`);
    if (last < first) return bad(`“${part.trim()}” counts downwards`);
    for (let id = first; id <= last; id++) ids.add(id);
    if (ids.size > mostIds) return bad(`at most ${mostIds} markers are printed at once`);
  }
  return ok([...ids]);
}
