import { describe, expect, it } from 'vitest';
import type { Report } from '../../../../server/contract/report.js';
import { unbroken } from '../../../../server/units/unbroken.js';
import { isSameTape, sideChoice, tapeDoubt, tapeLength, tapeName } from '../../../../web/text/tape-words.js';

const inches = { unit: 'in', denominator: 16 } as const;
const side = (name: string, value: number, u = 1) => ({ name, from: [0, 0], to: [value, 0], length: { value, u } });
const report = {
  table: { sides: [side('A', 1830), side('B', 1220), side('C', 1700, 47)] },
  markers: [
    { id: 3, centre: [0, 0] },
    { id: 7, centre: [600, 800] },
  ],
} as unknown as Report;
const ofSide = (name: string, lengthMm: number, uMm: number | null = null) => ({ side: name, lengthMm, uMm });
const between = (from: number, to: number, lengthMm = 1000) => ({ from, to, lengthMm, uMm: null });

describe('what is said of a tape check', () => {
  it('its name, and its length with ± where one was typed', () => {
    expect([tapeName(ofSide('A', 1830)), tapeName(between(3, 7))]).toEqual(['Table side A', 'Marker 3 to marker 7']);
    expect(tapeLength(ofSide('A', 1828.8), inches)).toBe(unbroken('72 in'));
    expect(tapeLength(ofSide('A', 1828.8, 1), inches)).toBe(unbroken('72 in ± 0.08 in'));
  });

  it('nothing while photos and tape agree, or the photos cannot tell', () => {
    for (const tape of [ofSide('A', 1832), ofSide('C', 1780), ofSide('E', 900), between(3, 7, 1004), between(3, 9)])
      expect(tapeDoubt(tape, report, inches)).toBeNull();
    expect(tapeDoubt(ofSide('A', 900), null, inches)).toBeNull();
  });

  it('what the photos make of it and where to look, when they are far apart', () => {
    expect(tapeDoubt(ofSide('A', 1220), report, inches)).toBe(
      unbroken(
        'The photos make it 72 1/16 in. Look which side that is on the measured plan, and measure the marker’s black square again.',
      ),
    );
    expect(tapeDoubt(between(7, 3, 960), report, inches)).toMatch(
      /^The photos make it 39\s3\/8\sin\. Look at the numbers/,
    );
  });

  it('that another was laid over the same, whichever end came first', () => {
    expect(isSameTape(between(3, 7), between(7, 3))).toBe(true);
    expect(isSameTape(ofSide('A', 1), ofSide('A', 2))).toBe(true);
    expect(isSameTape(ofSide('A', 1), ofSide('B', 1))).toBe(false);
    expect(isSameTape(ofSide('A', 1), between(3, 7))).toBe(false);
    expect(isSameTape(between(3, 7), between(3, 9))).toBe(false);
  });

  it('sides to choose from tell their length where it is known', () => {
    const [a, , c] = report.table.sides;
    expect([sideChoice(a, inches), sideChoice(c, inches)]).toEqual([
      unbroken('Table side A, measured as 72 1/16 in'),
      'Table side C',
    ]);
  });
});
