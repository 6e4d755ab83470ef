import { describe, expect, it } from 'vitest';
import { sheetFrame } from '../../../../web/canvas/picture-frame.js';
import { crosses } from '../../../../web/canvas/place-labels.js';
import { runNames } from '../../../../web/canvas/run-names.js';
import { discBox, placeNames } from '../../../../web/canvas/side-names.js';
import type { Point } from '../../../../web/canvas/view.js';
import { ovalReport } from '../../../support/bench-plans.js';

const report = ovalReport([50.8]);
const frame = sheetFrame(report.table.outline);
const bounds = { left: 0, top: 0, right: frame.width, bottom: frame.height };
const same = (p: Point): Point => p;

describe('the names of the runs on a picture', () => {
  it('stand beside the longest piece of each, clear of its rails, and choose nothing', () => {
    const [name, ...more] = runNames(report, frame);
    expect(more).toEqual([]);
    expect(name).toMatchObject({ thing: null, text: 'R1', spoken: 'Run R1' });
    const upper = report.runs[0].pieces.filter((p) => p.kind === 'straight').at(-1);
    if (!upper) throw new Error('the oval has straights');
    const at = ([x, y]: readonly [number, number]): Point => frame.pictureFromTable(x, y, 0) as Point;
    const rail = [at(upper.from), at(upper.to)] as const;
    const [placed] = placeNames([name], same, [], [rail], bounds);
    expect(crosses(rail, discBox(placed.at))).toBe(false);
    expect(Math.abs(placed.at.y - rail[0].y)).toBeLessThan(40);
    expect(Math.abs(placed.at.x - (rail[0].x + rail[1].x) / 2)).toBeLessThan(30);
  });

  it('give way to a gap, and are left out where the run is out of the picture', () => {
    const [name] = runNames(report, frame);
    const first = placeNames([name], same, [], [], bounds)[0].at;
    const second = placeNames([name], same, [discBox(first)], [], bounds)[0].at;
    expect(Math.hypot(second.x - first.x, second.y - first.y)).toBeGreaterThan(20);
    const away = { ...frame, pictureFromTable: () => null };
    expect(runNames(report, away)).toEqual([]);
  });
});
