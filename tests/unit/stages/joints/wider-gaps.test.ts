import { describe, expect, it } from 'vitest';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import type { MissingSpan } from '../../../../server/stages/joints/missing-spans.js';
import type { SectionEnd } from '../../../../server/stages/joints/rail-end.js';
import type { TableTrail } from '../../../../server/stages/joints/table-trail.js';
import type { OpenGap, UnrolledRun } from '../../../../server/stages/joints/weigh-gap.js';
import { inCommon, shorterGaps, withoutWider } from '../../../../server/stages/joints/wider-gaps.js';
import { madeTrail, madeTrailStartS } from '../../../support/joints/made-trail.js';

const run = (trail: TableTrail | null): UnrolledRun =>
  ({ trail, startS: madeTrailStartS, run: { track: tallTrack } }) as unknown as UnrolledRun;

const inStrip = (s: number): number => s - madeTrailStartS;

/** Between two places of the line. */
function gap(from: number, to: number): OpenGap {
  const end = (s: number): SectionEnd => ({ at: inStrip(s), uMm: 0.3, rails: [], clearness: 0.6 });
  return { before: end(from), after: end(to), merit: 1 };
}

const narrow = gap(200, 230);

describe('a gap that reaches into rails', () => {
  it('is left out where a narrower one shows table up to rails', () => {
    const trail = madeTrail([200, -1.5], [230, 1.9], [400, -0.9]);
    expect(withoutWider([gap(200, 266), narrow], run(trail), [])).toEqual([narrow]);
    expect(withoutWider([narrow, gap(160, 266)], run(trail), [])).toEqual([narrow]);
  });

  it('is kept where table, or what is neither, goes on beyond the narrower one', () => {
    for (const beyond of [1.9, 0]) {
      const both = [gap(200, 266), narrow];
      expect(withoutWider(both, run(madeTrail([200, -1.5], [230, 1.9], [400, beyond])), [])).toEqual(both);
    }
  });

  it('is kept where the narrower one does not show table plainly', () => {
    const both = [gap(200, 266), narrow];
    expect(withoutWider(both, run(madeTrail([200, -1.5], [230, 0.8], [400, -0.9])), [])).toEqual(both);
  });

  it('is kept where it is hardly wider, and where no trail tells', () => {
    const close = [gap(200, 236), narrow];
    expect(withoutWider(close, run(madeTrail([200, -1.5], [230, 1.9], [400, -0.9])), [])).toEqual(close);
    const both = [gap(200, 266), narrow];
    expect(withoutWider(both, run(null), [])).toEqual(both);
  });
});

describe('a gap that reaches over heads up to a cover', () => {
  const missing = (...spans: readonly (readonly [number, number])[]): MissingSpan[] =>
    spans.map(([from, to]) => ({ from: inStrip(from), to: inStrip(to) }));
  const both = [gap(170, 230), narrow];

  it('is left out where heads show for longer than pins reach', () => {
    expect(withoutWider(both, run(null), missing([80, 170], [200, 230]))).toEqual([narrow]);
    expect(withoutWider([gap(200, 262), narrow], run(null), missing([200, 230], [262, 340]))).toEqual([narrow]);
  });

  it('is kept where what shows may be pins, or no heads, or where heads show in the narrower one too', () => {
    const pins = [gap(184, 230), narrow];
    expect(withoutWider(pins, run(null), missing([80, 184], [200, 230]))).toEqual(pins);
    expect(withoutWider(both, run(null), missing([80, 190], [200, 230]))).toEqual(both);
    expect(withoutWider(both, run(null), missing([80, 170], [212, 230]))).toEqual(both);
  });

  it('is left out where rust begins a little before the end it makes', () => {
    expect(withoutWider([gap(200, 255), narrow], run(null), missing([200, 230], [250, 300]))).toEqual([narrow]);
    expect(withoutWider([gap(200, 255), narrow], run(null), missing([200, 230], [244, 300]))).toHaveLength(2);
  });

  it('is kept where no cover ends what shows: pins may shine farther than they reach', () => {
    expect(withoutWider(both, run(null), missing([200, 230]))).toEqual(both);
    expect(withoutWider(both, run(null), missing([80, 150], [200, 230]))).toEqual(both);
  });
});

describe('what gaps that overlap have in common', () => {
  const places = (gaps: readonly OpenGap[]): number[][] =>
    inCommon(
      gaps.map(({ before, after }) => ({ from: before.at, to: after.at })),
      3,
      5,
    ).map(({ from, to }) => [from + madeTrailStartS, to + madeTrailStartS]);

  it('is looked at where each has one end of its own', () => {
    expect(places([gap(200, 283), gap(141, 258)])).toEqual([[200, 258]]);
    expect(places([gap(141, 258), gap(200, 283)])).toEqual([[200, 258]]);
  });

  it('is nothing new where one lies within the other, where they share an end, and where it is too short', () => {
    expect(places([gap(200, 283), gap(210, 258)])).toEqual([]);
    expect(places([gap(200, 283), gap(141, 282)])).toEqual([]);
    expect(places([gap(200, 283), gap(198, 258)])).toEqual([]);
    expect(places([gap(200, 283), gap(141, 204)])).toEqual([]);
  });
});

describe('a gap of which table tells an end', () => {
  const byTable = [{ ...gap(200, 240), standsAlone: false }];
  const never = (): boolean => false;
  const always = (): boolean => true;

  it('counts within a gap, whatever else speaks for it', () => {
    expect(shorterGaps(byTable, [gap(200, 266)], [], never)).toEqual(byTable);
    expect(shorterGaps(byTable, [gap(150, 220)], [], always)).toEqual([]);
  });

  it('counts within a break of the rails that is no gap only where it may be one itself', () => {
    expect(shorterGaps(byTable, [], [gap(200, 266)], always)).toEqual(byTable);
    expect(shorterGaps(byTable, [], [gap(200, 266)], never)).toEqual([]);
    expect(shorterGaps(byTable, [], [], always)).toEqual([]);
  });

  it('counts alone where it shows as plainly as can be', () => {
    const alone = [{ ...gap(200, 240), standsAlone: true }];
    expect(shorterGaps(alone, [], [], always)).toEqual(alone);
    expect(shorterGaps(alone, [], [], never)).toEqual([]);
  });
});
