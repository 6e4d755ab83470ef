import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { markerCount } from './marker-pattern.js';

/** More pages than this in one file is a slip of the keyboard (common practice, no source). */
const mostIds = 100;

/**
 * Reads a list of marker ids as people write it: `0-5`, `3`, `0-2,7,9-10`.
 * @returns ids in the order written, each once; or the problem `bad-field`
 */
export function parseMarkerIds(text: string): Result<number[], Problem> {
  const ids = new Set<number>();
  for (const part of text.split(',')) {
    const match = /^\s*(\d{1,3})\s*(?:[-–]\s*(\d{1,3})\s*)?$/.exec(part);
    if (match === null) return bad(`“${part.trim()}” is not a number or a range such as 0-5`);
    const first = Number(match[1]);
    const last = Number(match[2] ?? match[1]);
    if (last < first) return bad(`the range ${first}-${last} runs backwards`);
    if (last >= markerCount) return bad(`the family has the ids 0 to ${markerCount - 1}`);
    for (let id = first; id <= last; id++) ids.add(id);
  }
  return ids.size > mostIds ? bad(`at most ${mostIds} sheets are made at once`) : ok([...ids]);
}

function bad(why: string): Result<number[], Problem> {
  return failed(problem('bad-field', { field: 'ids', why }));
}
