import { describe, expect, it } from 'vitest';
import { lowTrack, tallTrack } from '../../../../server/scene/track-profile.js';
import { flangeTrust, railLook } from '../../../../server/stages/rails/rail-edges.js';

/** Where a point of the cross-section, across and above the table, is seen in the level of the rail's axis. */
const seenAt = (across: number, above: number, axisMm: number, viewRad: number): number =>
  across + (axisMm - above) * Math.tan(viewRad);

describe.each([
  ['tall', tallTrack],
  ['low', lowTrack],
])('edges of a rail of the %s track seen aslant', (_, track) => {
  const axisMm = track.railTopMm - track.headWidthMm / 2;
  const [half, top] = [(track.flangeWidthMm as number) / 2, track.flangeTopMm as number];

  it.each([-0.6, -0.1, 0.1, 0.6])('at %f rad are those of the outline of a head and a flange of sheet', (viewRad) => {
    const corners = [-half, half].flatMap((x) => [top, top - 0.3].map((z) => seenAt(x, z, axisMm, viewRad)));
    const headHalf = track.headWidthMm / 2 / Math.cos(viewRad);
    const flange = [Math.min(...corners), Math.max(...corners)].filter((x) => Math.abs(x) > headHalf + 0.6);
    const offsets = railLook(track, viewRad, 0).edges.map((edge) => edge.offsetMm);
    const expected = [-headHalf, headHalf, ...flange];
    expect(offsets).toHaveLength(expected.length);
    offsets.forEach((mm, i) => {
      expect(mm).toBeCloseTo(expected[i], 9);
    });
  });

  it('has its crest as far beside where the light puts it as it is seen, but never off the tube', () => {
    const plain = railLook(track, 0.2, 0.5);
    expect(railLook(track, 0.2, 0.5, -0.3).crestMm).toBeCloseTo(plain.crestMm - 0.3, 9);
    expect(railLook(track, 0.2, 0.5, 5).crestMm).toBeCloseTo(0.8 * plain.headHalfMm, 9);
    expect(railLook(track, 0.2, 0.5, -0.3).edges).toEqual(plain.edges);
  });

  it('has edges of the flange that count less from far aslant, and those of the head that do not', () => {
    const weightsAt = (viewRad: number): number[] => railLook(track, viewRad, 0).edges.map((edge) => edge.weight);
    const [head, , plain] = weightsAt(0.5);
    const [aslant, , less] = weightsAt(0.7);
    expect([aslant, less / plain]).toEqual([head, expect.closeTo(flangeTrust(0.7), 9)]);
    expect(weightsAt(-1)[2] / plain).toBeCloseTo(0.4, 9);
    expect([flangeTrust(-0.5), flangeTrust(0.9)]).toEqual([1, 0]);
  });
});
