import { describe, expect, it } from 'vitest';
import { markerCount, markerPattern } from '../../../server/exports/marker-pattern.js';
import { numberInWords } from '../../../server/exports/number-words.js';

/** All four turns of a square pattern, as strings of 0 and 1. */
function turns(rows: readonly (readonly boolean[])[]): string[] {
  const found: string[] = [];
  let now = rows;
  for (let i = 0; i < 4; i++) {
    found.push(now.map((row) => row.map((black) => (black ? '0' : '1')).join('')).join(' '));
    const before = now;
    now = before.map((_, y) => before.map((_row, x) => before[before.length - 1 - x][y]));
  }
  return found;
}

function inner(id: number): boolean[][] {
  return markerPattern(id)
    .slice(1, 7)
    .map((row) => row.slice(1, 7));
}

describe('marker pattern', () => {
  it('has the published code of id 0 of the family 36h11 in one of its four turns', () => {
    // Rows of id 0 from the top, 1 white: AprilTag 36h11 as published by its authors (data of Debian's apriltag 3.3).
    expect(turns(inner(0))).toContain('110101 011101 011000 101000 010110 000100');
  });

  it('has a black border of one module around every id', () => {
    for (let id = 0; id < markerCount; id += 29) {
      const rows = markerPattern(id);
      expect(rows).toHaveLength(8);
      expect([...rows[0], ...rows[7], ...rows.map((r) => r[0]), ...rows.map((r) => r[7])].every(Boolean)).toBe(true);
    }
  });

  it('keeps all 587 codes 11 bits apart in every turn, as the family’s name says', () => {
    expect(markerCount).toBe(587);
    const codes = Array.from({ length: markerCount }, (_, id) => turns(inner(id)).map((s) => s.replaceAll(' ', '')));
    const packed = codes.map((four) =>
      four.map((s) => [Number.parseInt(s.slice(0, 18), 2), Number.parseInt(s.slice(18), 2)]),
    );
    let least = 36;
    for (let a = 0; a < markerCount; a++) {
      for (let b = a; b < markerCount; b++) {
        for (let turn = a === b ? 1 : 0; turn < 4; turn++) {
          const d = bits(packed[a][0][0] ^ packed[b][turn][0]) + bits(packed[a][0][1] ^ packed[b][turn][1]);
          if (d < least) least = d;
        }
      }
    }
    expect(least).toBe(11);
  });

  it('writes ids in words', () => {
    expect([0, 13, 20, 45, 100, 306, 586].map(numberInWords)).toEqual([
      'zero',
      'thirteen',
      'twenty',
      'forty-five',
      'one hundred',
      'three hundred six',
      'five hundred eighty-six',
    ]);
  });
});

function bits(n: number): number {
  let count = 0;
  for (let rest = n; rest !== 0; rest &= rest - 1) count++;
  return count;
}
