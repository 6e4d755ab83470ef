import { describe, expect, it } from 'vitest';
import { pinWork, tiesOf } from '../../../server/planner/pins-and-ties.js';
import { ovalReport, planChecked, stockOf, wishesOf } from './plan-scene.js';

describe('pins and ties of a filler', () => {
  it('needs no work when it is the first off its donor and lies like its neighbours', () => {
    const [before, after] = pinWork('pins', 'open', true);
    expect([before.work, after.work]).toEqual(['none', 'none']);
    expect(before.needs).toBe('open');
    expect(after).toMatchObject({ has: 'pins', needs: 'pins' });
  });

  it('gets pins at one end when it is cut from the middle of a donor', () => {
    expect(pinWork('pins', 'open', false).map((e) => e.work)).toEqual(['none', 'fit-pins']);
  });

  it('is turned round, or has pins pulled or fitted, beside reversed sections', () => {
    expect(pinWork('open', 'pins', true).map((e) => e.work)).toEqual(['none', 'none']);
    expect(
      pinWork('pins', 'pins', true)
        .map((e) => e.work)
        .sort(),
    ).toEqual(['none', 'pull-pins']);
    expect(
      pinWork('open', 'open', true)
        .map((e) => e.work)
        .sort(),
    ).toEqual(['fit-pins', 'none']);
    expect(pinWork('open', 'open', false).map((e) => e.work)).toEqual(['fit-pins', 'fit-pins']);
  });

  it('leaves one pinned and one open end at every joint of a planned filler', async () => {
    const s = (straight: number) => ({ straight });
    const report = ovalReport([s(254), { gap: 50.8 }, s(127)], [s(254), s(127), { gap: 50.8 }]);
    const plan = await planChecked(report, wishesOf({ reversed: [{ run: 'R1', pieces: [1] }] }), stockOf([254]));
    expect(plan.fillers[0].ends?.map((e) => e.needs)).toEqual(['open', 'open']);
    expect(plan.fillers[1].ends?.map((e) => e.needs)).toEqual(['open', 'pins']);
    for (const filler of plan.fillers) expect(filler.ties).toBeGreaterThanOrEqual(1);
  });

  it('keeps at least one tie on the shortest filler and three on a full section', () => {
    expect(tiesOf(38.1)).toBe(1);
    expect(tiesOf(254)).toBe(3);
  });
});
