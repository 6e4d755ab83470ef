// The second thread of a measurement; started by second-thread.ts. It does one work after the other.
import { parentPort } from 'node:worker_threads';
import type { WorkOnParts } from '../base/parts.js';
import { takePieces } from './pieces.js';
import {
  type SharedQuestion,
  sharedWorks,
  type ThreadAnswer,
  type ThreadQuestion,
  type ThreadWorkName,
  threadWorks,
} from './thread-works.js';

function answerTo<N extends ThreadWorkName>({ id, name, input }: ThreadQuestion<N>): ThreadAnswer {
  const work = threadWorks[name] as (input: ThreadQuestion<N>['input']) => never;
  try {
    return { id, output: work(input) };
  } catch (error) {
    return { id, error };
  }
}

function takePart({ name, input, pieces }: SharedQuestion): void {
  try {
    takePieces(sharedWorks[name] as WorkOnParts<SharedQuestion['input']>, input, pieces);
  } catch {
    // The first thread does what failed here, and fails alike.
  }
}

parentPort?.on('message', (question: ThreadQuestion | SharedQuestion) => {
  if ('pieces' in question) takePart(question);
  else parentPort?.postMessage(answerTo(question));
});
