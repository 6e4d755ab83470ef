import { type Problem, type ProblemCode, problemLine } from '../contract/problems.js';

/** How a command ends: what goes to standard output, and the exit status. */
export interface Outcome {
  readonly status: 0 | 1 | 2 | 3;
  readonly output: string;
}

/** Writes one line for the person at the keyboard, to standard error. */
export function tell(line: string): void {
  process.stderr.write(`${line}\n`);
}

export function done(output = ''): Outcome {
  return { status: 0, output };
}

/** What a photo causes, as against a wrong call of the command. */
const photoProblems: readonly ProblemCode[] = [
  'not-a-photo',
  'photo-damaged',
  'photo-too-small',
  'photo-too-large',
  'no-marker',
  'camera-not-solved',
  'no-track',
  'rails-misfit',
  'no-table-edge',
  'photos-share-no-marker',
  'marker-not-flat',
  'marker-moved',
  'photos-contradict',
  'track-moved',
  'tape-left-out',
];

/** Says what is wrong and what to do, in one line, and gives the exit status that belongs to it. */
export function ended(problem: Problem): Outcome {
  tell(`gapwright: ${problemLine(problem)}`);
  if (problem.code === 'work-failed') return { status: 1, output: '' };
  return { status: photoProblems.includes(problem.code) ? 3 : 2, output: '' };
}
