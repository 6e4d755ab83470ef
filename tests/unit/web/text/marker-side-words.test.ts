import { expect, test } from 'vitest';
import { markerSideWords } from '../../../../web/text/marker-side-words.js';

const measured = (sideMm: number) => ({ markers: [{ id: 3, sideMm, centre: [0, 0], corners: [] }] }) as never;

test('the marker side is told in millimetres, as the sheet says it, and in inches where those are used', () => {
  expect(markerSideWords(measured(120.004), { unit: 'mm', denominator: 16 })).toBe('120 mm');
  expect(markerSideWords(measured(118.47), { unit: 'mm', denominator: 16 })).toBe('118.5 mm');
  expect(markerSideWords(measured(120.65), { unit: 'in', denominator: 16 })).toBe('120.7 mm (4 3/4 in)');
  expect(markerSideWords({ markers: [] }, { unit: 'in', denominator: 16 })).toBe('');
});
