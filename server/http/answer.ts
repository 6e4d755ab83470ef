import type { Context } from 'hono';
import type { ContentfulStatusCode } from 'hono/utils/http-status';
import type { Result } from '../base/result.js';
import { type Problem, type ProblemCode, problem, problemText } from '../contract/problems.js';

/** The status of each problem, where it is not 422 (the request was understood, but what it holds cannot be used). */
const statuses: Partial<Record<ProblemCode, ContentfulStatusCode>> = {
  'unknown-table': 404,
  'unknown-photo': 404,
  'unknown-sample': 404,
  'unknown-address': 404,
  'changed-elsewhere': 409,
  'nothing-measured': 409,
  'nothing-planned': 409,
  'nothing-planned-before': 409,
  'no-photos': 409,
  'too-many-photos': 409,
  'too-many-tables': 409,
  'newer-format': 409,
  'table-damaged': 409,
  'not-a-photo': 415,
  'file-too-large': 413,
  'request-too-large': 413,
  'zip-too-large': 413,
  'not-json': 400,
  'upload-broken-off': 400,
  'foreign-host': 421,
  'foreign-page': 403,
  'not-paired': 401,
  'wrong-code': 403,
  'pairing-paused': 429,
  'cannot-write': 507,
  'work-failed': 500,
  'took-too-long': 504,
};

/** Ends a request with a problem; the one handler in app.ts turns it into an answer. */
export class ProblemAnswer extends Error {
  readonly problem: Problem;
  readonly extra: Readonly<Record<string, unknown>>;

  /** @param extra fields that go into the answer beside the problem */
  constructor(problem: Problem, extra: Readonly<Record<string, unknown>> = {}) {
    super(problem.code);
    this.problem = problem;
    this.extra = extra;
  }
}

/** The value of a result; a problem ends the request. */
export function orAnswer<T>(result: Result<T, Problem>): T {
  if (!result.ok) throw new ProblemAnswer(result.problem);
  return result.value;
}

/** Turns whatever ended a request into status and JSON. A fault of the program is told to the terminal, not to the device. */
export function answerProblem(c: Context, error: Error): Response {
  // What is called off while the server stops is no fault.
  const told = error instanceof ProblemAnswer || error.name === 'AbortError';
  if (!told) process.stderr.write(`${c.req.method} ${c.req.path}: ${error.stack}\n`);
  const answer =
    error instanceof ProblemAnswer ? error : new ProblemAnswer(problem('work-failed', { stage: 'this request' }));
  const status = statuses[answer.problem.code] ?? 422;
  c.header('cache-control', 'no-store');
  return c.json({ problem: answer.problem, text: problemText(answer.problem), ...answer.extra }, status);
}
