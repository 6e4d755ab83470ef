import { type Problem, type ProblemText, problemText } from '../../server/contract/problems.js';

/** What went wrong, ready to be shown: the sentence and the next step come from the contract, never from the page. */
export interface Trouble extends ProblemText {
  readonly code: string;
}

/** The page's own: the server does not answer. */
export const noConnection: Trouble = {
  code: 'no-connection',
  sentence: 'Gapwright does not answer just now.',
  nextStep: 'Nothing is lost. Check that it still runs on the computer; this page tries again by itself.',
};

/** The page's own: an answer that is not in the agreed form, for instance from another version of the program. */
export const strangeAnswer: Trouble = {
  code: 'strange-answer',
  sentence: 'Gapwright answered in a form that this page does not know.',
  nextStep: 'Reload the page; if that does not help, start Gapwright again.',
};

export function troubleOf(problem: Problem): Trouble {
  return { code: problem.code, ...problemText(problem) };
}

/** Reads the body of an error answer: `{ problem, text }`. */
export function troubleFromBody(body: unknown): Trouble {
  const { problem, text } = (body ?? {}) as { problem?: { code?: string }; text?: Partial<ProblemText> };
  if (!problem?.code || !text?.sentence) return strangeAnswer;
  return { code: problem.code, sentence: text.sentence, nextStep: text.nextStep ?? '' };
}
