import { describe, expect, it } from 'vitest';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { tracesApart } from '../../../../server/stages/rails/traces-apart.js';

const stepMm = 8;

/** A trace over the places of a curve, in steps. */
function traceOver(count: number, at: (i: number) => { x: number; y: number; headingRad: number }): RailTrace {
  const samples = Array.from({ length: count }, (_, i) => ({ ...at(i), sidewaysMm: [0, 0, 0] as const }));
  return { photo: 0, closed: false, stepMm, light: { x: 0, y: 0, z: 2000 }, samples };
}

const straight = (count: number, fromX: number, y: number): RailTrace =>
  traceOver(count, (i) => ({ x: fromX + i * stepMm, y, headingRad: 0 }));

const spacingMm = tallTrack.gaugeMm / 2 + tallTrack.headWidthMm / 2;

describe('traces of one photo', () => {
  it('are not two of one track: the shorter one that is a rail off goes', () => {
    const track = straight(200, 0, 0);
    const doubled = straight(80, 300, spacingMm);
    for (const both of [
      [track, doubled],
      [doubled, track],
    ])
      expect(tracesApart(both, tallTrack)).toEqual([track]);
  });

  it('keep what goes on where no other lies', () => {
    const track = straight(200, 0, 0);
    const longer = straight(100, 1200, -spacingMm);
    const [kept, rest, ...more] = tracesApart([track, longer], tallTrack);
    expect(kept).toBe(track);
    expect(more).toEqual([]);
    expect(rest.samples[0].x).toBeGreaterThan(199 * stepMm);
    expect(rest.samples.at(-1)).toEqual(longer.samples.at(-1));
  });

  it('stay as they are beside each other, and where one leaves another as a branch does', () => {
    const radiusMm = 400;
    const branch = traceOver(60, (i) => {
      const angle = (i * stepMm) / radiusMm;
      return { x: 400 + radiusMm * Math.sin(angle), y: radiusMm * (1 - Math.cos(angle)), headingRad: angle };
    });
    const all = [straight(200, 0, 0), straight(190, 0, 62), branch];
    expect(tracesApart(all, tallTrack)).toEqual(all);
  });
});
