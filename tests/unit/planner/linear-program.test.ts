import { describe, expect, it } from 'vitest';
import { constant, LinearProgram, sumOf, term } from '../../../server/planner/linear-program.js';

const limit = { timeLimitMs: 5000 };

describe('the linear program', () => {
  it('finds the least value over whole numbers', async () => {
    const program = new LinearProgram();
    const x = program.whole(0, 10);
    const y = program.continuous(0, 10);
    program.atLeast(sumOf(term(2, x), term(1, y)), 7.5);
    program.atMost(term(1, y), 1);
    const answer = await program.least(sumOf(term(3, x), term(1, y), constant(100)), limit);
    expect(answer).toMatchObject({ status: 'optimal' });
    expect(answer.values[x]).toBe(4);
    expect(answer.objective).toBeCloseTo(112, 6);
  });

  it('says when nothing is possible', async () => {
    const program = new LinearProgram();
    const x = program.yesNo();
    program.atLeast(term(1, x), 2);
    expect((await program.least(term(1, x), limit)).status).toBe('infeasible');
  });

  it('takes back what columns were narrowed to, and the levels that were kept', async () => {
    const program = new LinearProgram();
    const x = program.whole(0, 5);
    const release = program.fixFor(new Map([[x, 3]]));
    expect((await program.least(term(1, x), limit)).objective).toBe(3);
    release();
    program.keepLevel(term(-1, x), -2);
    expect((await program.least(term(1, x), limit)).objective).toBe(2);
    program.clearLevels();
    expect((await program.least(term(1, x), limit)).objective).toBe(0);
  });

  it('can leave out that columns are whole', async () => {
    const program = new LinearProgram();
    const x = program.whole(0, 5);
    program.atLeast(term(2, x), 3);
    expect((await program.least(term(1, x), { ...limit, wholeOnly: new Set() })).objective).toBeCloseTo(1.5, 9);
  });

  it('starts from a known solution without keeping to it', async () => {
    const program = new LinearProgram();
    const x = program.whole(0, 9);
    expect((await program.least(term(1, x), { ...limit, start: new Map([[x, 7]]) })).objective).toBe(0);
  });

  it('refuses coefficients that are no numbers', () => {
    const program = new LinearProgram();
    const x = program.yesNo();
    expect(() => program.atLeast(term(Number.NaN, x), 1)).toThrow(/finite/);
  });
});
