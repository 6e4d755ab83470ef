import { describe, expect, it } from 'vitest';
import { mayEndThere, whatLiesBehind } from '../../../../server/stages/joints/behind-ends.js';

describe('what lies behind the ends of a gap', () => {
  const shown = (step: number) => ({ within: 1.8, step, sum: 20 });

  it('is rails where they show, and where rust may hide them', () => {
    const unasked = (): number => {
      throw new Error('the table was looked at for nothing');
    };
    expect(whatLiesBehind(0, unasked)).toBe('rails');
    expect(whatLiesBehind(0.85, unasked)).toBe('rails');
    // Between rails that are there table shows, as beside them.
    expect(whatLiesBehind(1, () => 0.5)).toBe('rails');
  });

  it('is table where nothing else shows, and a cover where no table does', () => {
    expect(whatLiesBehind(1, () => 0.99)).toBe('table');
    expect(whatLiesBehind(1, () => 0.05)).toBe('cover');
  });

  it('must not be table; and beside a cover table must show plainly for longer than a shade', () => {
    expect(mayEndThere(['rails', 'rails'], 6, null)).toBe(true);
    expect(mayEndThere(['rails', 'table'], 50, shown(4))).toBe(false);
    expect(mayEndThere(['cover', 'rails'], 45, shown(3.8))).toBe(true);
    expect(mayEndThere(['cover', 'rails'], 12, shown(3.8))).toBe(false);
    expect(mayEndThere(['rails', 'cover'], 45, shown(1.5))).toBe(false);
    expect(mayEndThere(['rails', 'cover'], 45, null)).toBe(false);
  });
});
