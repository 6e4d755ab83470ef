// The second thread of a measurement; started by second-thread.ts. It does one work after the other.
import { parentPort } from 'node:worker_threads';
import { type ThreadAnswer, type ThreadQuestion, type ThreadWorkName, threadWorks } from './thread-works.js';

function answerTo<N extends ThreadWorkName>({ id, name, input }: ThreadQuestion<N>): ThreadAnswer {
  const work = threadWorks[name] as (input: ThreadQuestion<N>['input']) => never;
  try {
    return { id, output: work(input) };
  } catch (error) {
    return { id, error };
  }
}

parentPort?.on('message', (question: ThreadQuestion) => parentPort?.postMessage(answerTo(question)));
