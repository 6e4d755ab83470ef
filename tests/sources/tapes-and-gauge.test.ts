import { describe, expect, it } from 'vitest';
import { tapeUMm } from '../../server/pipeline/tapes.js';
import { lowTrack, tallTrack } from '../../server/scene/track-profile.js';
import { mmPerInch } from '../../server/units/inches.js';

describe('published facts about tapes and track', () => {
  it('takes a tape as class II, from its hook: limit ±(0.3 + 0.2·L) mm, L in whole metres, and 0.2 mm (Directive 2014/32/EU, Annex X)', () => {
    const limits = [
      [1, 0.5],
      [2, 0.7],
      [3, 0.9],
      [5, 1.3],
    ] as const;
    for (const [metres, limitMm] of limits)
      expect(tapeUMm(1000 * metres)).toBeCloseTo((limitMm + 0.2) / Math.sqrt(3), 9);
    // Rounded up to whole metres.
    expect(tapeUMm(1001)).toBeCloseTo(tapeUMm(2000), 9);
  });

  it('ships track whose gauge lies in the O band, 1.250 to 1.285 in (NMRA S-3.2), and within 1 % of 32 mm (MOROP NEM 010)', () => {
    for (const { gaugeMm } of [tallTrack, lowTrack]) {
      expect(gaugeMm / mmPerInch).toBeGreaterThanOrEqual(1.25);
      expect(gaugeMm / mmPerInch).toBeLessThanOrEqual(1.285);
      expect(Math.abs(gaugeMm / 32 - 1)).toBeLessThan(0.01);
    }
  });
});
