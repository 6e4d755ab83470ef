import { describe, expect, it } from 'vitest';
import { kindText, planName, preferenceTexts, wishesToTake } from '../../../../web/text/preferences.js';
import { gapPlan } from '../../../support/bench-plans.js';

const plan = gapPlan([50.8]);

describe('taking another way', () => {
  it('asks for what the alternative is, also where that is no preference', () => {
    expect(wishesToTake({ ...plan, prefer: 'fewest-cuts', kind: 'take-up' })).toEqual({
      prefer: 'fewest-cuts',
      way: 'take-up',
    });
    expect(wishesToTake({ ...plan, prefer: 'largest-loop', kind: 'largest-loop' })).toEqual({
      prefer: 'largest-loop',
      way: undefined,
    });
  });

  it('asks for nothing where the plan does not say what it is', () => {
    expect(wishesToTake(plan)).toBeNull();
    expect(wishesToTake({ ...plan, prefer: 'fewest-cuts', kind: 'unheard-of' })).toBeNull();
    expect(wishesToTake(undefined)).toBeNull();
  });

  it('calls a plan no more than it keeps', () => {
    const cutting = { ...plan, prefer: 'fewest-cuts' as const, cuts: 2 };
    const uncut = { ...plan, kind: 'take-up', cuts: 0 };
    expect(planName(cutting, [cutting], 0)).toBe('Cut as little as possible');
    expect(planName(cutting, [cutting, uncut], 0)).toBe('Cut as little as possible where the track lies');
    const largest = { ...plan, kind: 'largest-loop' };
    const search = (proved: boolean) => ({ proved, open: [] });
    expect(planName({ ...largest, search: search(true) }, [], 1)).toMatch(/largest loop that fits$/);
    expect(planName({ ...largest, search: search(false) }, [], 1)).toMatch(/largest loop that was found$/);
  });

  it('has words for every kind that can be taken', () => {
    expect(kindText('take-up', 1)).toMatch(/whole track move/);
    expect(kindText('fewest-cuts', 0)).toBe(preferenceTexts['fewest-cuts']);
    expect(kindText('unheard-of', 1)).toBe('Way 2');
  });
});
