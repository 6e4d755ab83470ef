import { describe, expect, it } from 'vitest';
import { wishesToTake } from '../../../../web/text/preferences.js';
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
});
