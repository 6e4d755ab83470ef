import { describe, expect, it } from 'vitest';
import { evidenceOf } from '../../../../server/stages/table-edge/edge-evidence.js';

const sharp = 40 ** 2;

describe('evidence that the table ends at a step', () => {
  it('is strong where the finish ends and something else begins', () => {
    expect(evidenceOf(sharp, 1, 0)).toBeGreaterThan(0.9);
  });

  it('is next to nothing where the same finish goes on, however sharp the line is', () => {
    expect(evidenceOf(sharp, 1, 1)).toBeLessThan(0.06);
    expect(evidenceOf(sharp, 1, 0.95)).toBeLessThan(0.12);
  });

  it('grows the less the outside looks like the finish', () => {
    const outside = [1, 0.8, 0.6, 0.4, 0.2, 0].map((o) => evidenceOf(sharp, 1, o));
    expect([...outside].sort((a, b) => a - b)).toEqual(outside);
  });

  it('speaks against an edge in the middle of even finish', () => {
    expect(evidenceOf(0, 1, 1)).toBeLessThan(-0.2);
  });
});
