import { describe, expect, it } from 'vitest';
import type { CentreLine } from '../../../../server/scene/rail-joint.js';
import { alongRun, withoutGap } from '../../../../server/stages/joints/marked-ends.js';

const straight: CentreLine = {
  stepMm: 4,
  closed: false,
  places: Array.from({ length: 101 }, (_, i) => ({ x: 4 * i, y: 10, headingRad: 0 })),
};

const gap = (s: number, open = true) => ({
  s,
  open,
  gapMm: { value: open ? 50 : 0, u: 0.25 },
  railsMm: [null, null, null] as const,
});

describe('a mark on a run', () => {
  it('lies where it was set along the run, between its places too', () => {
    expect(alongRun(straight, { x: 201.5, y: 14 })).toBeCloseTo(201.5, 9);
  });

  it('belongs to no run when it lies beside the track or beyond its end', () => {
    expect(alongRun(straight, { x: 200, y: 45 })).toBeNull();
    expect(alongRun(straight, { x: 460, y: 10 })).toBeNull();
  });

  it('goes round a loop without a seam', () => {
    const n = 100;
    const places = Array.from({ length: n }, (_, i) => {
      const angle = (2 * Math.PI * i) / n;
      return { x: 100 * Math.cos(angle), y: 100 * Math.sin(angle), headingRad: angle + Math.PI / 2 };
    });
    const stepMm = (2 * Math.PI * 100) / n;
    const s = alongRun({ stepMm, closed: true, places }, { x: 100, y: -1 });
    expect(s).toBeCloseTo(n * stepMm - 1, 1);
  });
});

describe('“the rails go on here”', () => {
  const found = { joints: [gap(100), gap(160, false), gap(300)], hidden: [], fromS: 0, toS: 400 };

  it('takes out the open gap that is meant and nothing else', () => {
    expect(withoutGap(found, 118)?.joints.map((j) => j.s)).toEqual([160, 300]);
  });

  it('says null where no gap is, also at a closed joint', () => {
    expect(withoutGap(found, 200)).toBeNull();
    expect(withoutGap({ ...found, joints: [gap(160, false)] }, 160)).toBeNull();
  });
});
