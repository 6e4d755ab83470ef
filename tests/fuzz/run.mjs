// `npm run fuzz`: many mutated photos, JSON bodies and addresses. FUZZ=20000 npm run fuzz for more, SEED=7 for others.
import { runProgram } from '../support/run-program.mjs';

const env = { FUZZ: process.env.FUZZ ?? '3000', SEED: process.env.SEED ?? String(Math.floor(Math.random() * 1e6)) };
console.log(`seed ${env.SEED}, ${env.FUZZ} of each kind`);
const vitest = ['node_modules/vitest/vitest.mjs', 'run', '--config=tests/vitest.config.ts', '--project=fuzz'];
process.exit(await runProgram(process.execPath, vitest, { minutes: 120, env }));
