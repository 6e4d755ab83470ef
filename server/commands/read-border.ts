import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { type CommandInput, readNumber } from './read-options.js';

/** Width of the marker's black border in modules, from --border. */
export function readBorder(input: CommandInput): Result<1 | 2, Problem> {
  const border = readNumber(input, 'border', 1, [1, 2]);
  if (!border.ok) return border;
  if (border.value === 1 || border.value === 2) return ok(border.value);
  return failed(problem('bad-field', { field: '--border', why: 'it is 1 or 2 modules' }));
}
