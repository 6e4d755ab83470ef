import fc from 'fast-check';
import { expect, test } from 'vitest';
import { contradictsPhoto, gapToldBy, ruledGap, steelRuleUMm } from '../../../server/contract/gap-readings.js';
import { coverage95, meanOfTwo } from '../../../server/units/estimate.js';

const uMm = fc.oneof(fc.constant(steelRuleUMm), fc.constant(0), fc.double({ min: 1e-300, max: 50, noNaN: true }));
const estimate = fc.record({ value: fc.double({ min: 1, max: 1000, noNaN: true }), u: uMm });
/** A rule and a photo that are apart by so many of their common standard uncertainties. */
const pair = fc
  .tuple(estimate, uMm, fc.double({ min: -4, max: 4, noNaN: true }))
  .map(([rule, u, apart]) => ({ rule, photo: { value: rule.value + apart * Math.hypot(rule.u, u), u } }));

test('a reading that agrees with the photo never makes a gap less sure than the surer of both', () => {
  fc.assert(
    fc.property(pair, ({ rule, photo }) => {
      fc.pre(!contradictsPhoto({ rule, photo }));
      const { length } = ruledGap('J1', rule, photo);
      expect(length.u).toBeLessThanOrEqual(Math.min(rule.u, photo.u) * (1 + 1e-12));
      const [least, most] = [rule.value, photo.value].sort((a, b) => a - b);
      expect(length.value).toBeGreaterThanOrEqual(least - 1e-9);
      expect(length.value).toBeLessThanOrEqual(most + 1e-9);
    }),
  );
});

test('the rule counts alone where both are farther apart than 95 % allows, and nowhere else', () => {
  fc.assert(
    fc.property(pair, ({ rule, photo }) => {
      const apart = Math.abs(rule.value - photo.value);
      const allowed = coverage95 * Math.hypot(rule.u, photo.u);
      fc.pre(Math.abs(apart - allowed) > 1e-9);
      const gap = ruledGap('J1', rule, photo);
      expect(gapToldBy(gap)).toBe(apart > allowed ? 'rule' : 'photo and rule');
      expect(gap).toEqual({ joint: 'J1', length: apart > allowed ? rule : meanOfTwo(rule, photo), rule, photo });
    }),
  );
});

test('the mean of two weighs them by 1/u², whichever comes first', () => {
  const plain = fc.record({
    value: fc.double({ min: 1, max: 1000, noNaN: true }),
    u: fc.double({ min: 0.01, max: 5, noNaN: true }),
  });
  fc.assert(
    fc.property(plain, plain, (a, b) => {
      const weights = [a, b].map(({ u }) => 1 / (u * u));
      const sum = weights[0] + weights[1];
      const [mean, turned] = [meanOfTwo(a, b), meanOfTwo(b, a)];
      expect(mean.value).toBeCloseTo((weights[0] * a.value + weights[1] * b.value) / sum, 6);
      expect(mean.u).toBeCloseTo(1 / Math.sqrt(sum), 9);
      expect(turned.value).toBeCloseTo(mean.value, 6);
      expect(turned.u).toBeCloseTo(mean.u, 9);
    }),
  );
});

test('a photo of ± 0.2 mm and a rule of ± 0.6 mm together are a little surer than the photo', () => {
  const { length } = ruledGap('J1', { value: 50.5, u: 0.3 }, { value: 50.3, u: 0.1 });
  // Weights 1 : 9.
  expect(length.value).toBeCloseTo(50.32, 9);
  expect(length.u).toBeCloseTo(0.3 / Math.sqrt(10), 9);
});
