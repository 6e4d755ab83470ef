import { describe, expect, it } from 'vitest';
import { stepInTrail } from '../../../../server/stages/joints/table-spans.js';
import { madeTrail } from '../../../support/joints/made-trail.js';

describe('where rails give way to table', () => {
  const trail = madeTrail([200, -0.9], [230, 1.9], [400, -0.5]);

  it('is found between two rows, as their values lie about 0', () => {
    expect(stepInTrail(trail, 201, 1)).toBeCloseTo(199 + 0.9 / 2.8, 6);
  });

  it('is found where table shows the more plainly, if rail shows less', () => {
    expect(stepInTrail(madeTrail([200, -0.7], [230, 1.9], [400, -0.9]), 200, 1)).not.toBeNull();
    expect(stepInTrail(madeTrail([200, -0.7], [230, 1.25], [400, -0.9]), 200, 1)).toBeNull();
    expect(stepInTrail(madeTrail([200, -0.4], [230, 1.9], [400, -0.9]), 200, 1)).toBeNull();
  });

  it('is none where what lies behind is hardly rail', () => {
    expect(stepInTrail(trail, 229, -1)).toBeNull();
  });
});
