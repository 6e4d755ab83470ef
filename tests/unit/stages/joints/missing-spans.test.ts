import { describe, expect, it } from 'vitest';
import { missesRails } from '../../../../server/stages/joints/missing-spans.js';

const pinReachMm = 14;

describe('a stretch in which rails are missing', () => {
  const table = (share: number) => () => share;

  it('is one of which as good as all is table, though nothing in it is more unlike the rails than rust makes them', () => {
    expect(missesRails([{ from: 100, to: 110 }], 100, 150, pinReachMm, table(0.97))).toBe(true);
    expect(missesRails([{ from: 100, to: 110 }], 100, 150, pinReachMm, table(0.9))).toBe(false);
  });
});
