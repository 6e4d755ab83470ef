import { describe, expect, it } from 'vitest';
import type { SectionEnd } from '../../../../server/stages/joints/rail-end.js';
import { stepInTrail } from '../../../../server/stages/joints/table-spans.js';
import type { TableTrail } from '../../../../server/stages/joints/table-trail.js';
import { type OpenGap, type UnrolledRun, withoutWider } from '../../../../server/stages/joints/weigh-gap.js';

/** A trail a millimetre a row, from −40 mm on; a value for each stretch up to a place. */
function trailOf(...stretches: readonly (readonly [number, number])[]): TableTrail {
  const startS = -40;
  const end = stretches[stretches.length - 1][0];
  const like = Float32Array.from(
    { length: end - startS },
    (_, i) => stretches.find(([to]) => startS + i < to)?.[1] as number,
  );
  return { startS, stepMm: 1, like };
}

const run = (trail: TableTrail | null): UnrolledRun => ({ trail, startS: -40 }) as unknown as UnrolledRun;

/** Between two places of the line. */
function gap(from: number, to: number): OpenGap {
  const end = (s: number): SectionEnd => ({ at: s + 40, uMm: 0.3, rails: [], clearness: 0.6 });
  return { before: end(from), after: end(to), merit: 1 };
}

const narrow = gap(200, 230);

describe('a gap that reaches into rails', () => {
  it('is left out where a narrower one shows table up to rails', () => {
    const trail = trailOf([200, -1.5], [230, 1.9], [400, -0.9]);
    expect(withoutWider([gap(200, 266), narrow], run(trail))).toEqual([narrow]);
    expect(withoutWider([narrow, gap(160, 266)], run(trail))).toEqual([narrow]);
  });

  it('is kept where table, or what is neither, goes on beyond the narrower one', () => {
    for (const beyond of [1.9, 0]) {
      const both = [gap(200, 266), narrow];
      expect(withoutWider(both, run(trailOf([200, -1.5], [230, 1.9], [400, beyond])))).toEqual(both);
    }
  });

  it('is kept where the narrower one does not show table plainly', () => {
    const both = [gap(200, 266), narrow];
    expect(withoutWider(both, run(trailOf([200, -1.5], [230, 0.8], [400, -0.9])))).toEqual(both);
  });

  it('is kept where it is hardly wider, and where no trail tells', () => {
    const close = [gap(200, 236), narrow];
    expect(withoutWider(close, run(trailOf([200, -1.5], [230, 1.9], [400, -0.9])))).toEqual(close);
    const both = [gap(200, 266), narrow];
    expect(withoutWider(both, run(null))).toEqual(both);
  });
});

describe('where rails give way to table', () => {
  const trail = trailOf([200, -0.9], [230, 1.9], [400, -0.5]);

  it('is found between two rows, as their values lie about 0', () => {
    expect(stepInTrail(trail, 201, 1)).toBeCloseTo(199 + 0.9 / 2.8, 6);
  });

  it('is none where what lies behind is hardly rail', () => {
    expect(stepInTrail(trail, 229, -1)).toBeNull();
  });
});
