import { describe, expect, it } from 'vitest';
import { cutToPieces, takePieces, waitForPieces } from '../../../server/pipeline/pieces.js';

const patienceMs = 50;
/** Notes which parts it is asked for. */
const noting = (parts: number[], from: number, to: number): void => {
  for (let part = from; part < to; part++) parts.push(part);
};
const numbers = (count: number): number[] => Array.from({ length: count }, (_, i) => i);

describe('work cut into pieces', () => {
  it.each([1, 2, 15, 16, 17, 100, 1001])('has each of %i parts done once', (count) => {
    const parts: number[] = [];
    const pieces = cutToPieces(count);
    takePieces(noting, parts, pieces);
    expect(waitForPieces(noting, parts, pieces, patienceMs)).toBe(false);
    expect(parts).toEqual(numbers(count));
  });

  it('leaves alone what another thread has taken and done, and does what failed there', () => {
    const theirs: number[] = [];
    const pieces = cutToPieces(100);
    const fails = (_: unknown, from: number): void => {
      throw new RangeError(`${from}`);
    };
    expect(() => takePieces(fails, theirs, pieces)).toThrow(new RangeError('0'));
    // Another thread takes the next one and does it.
    const second = Atomics.add(pieces.state, 0, 1);
    Atomics.store(pieces.state, 1 + second, 1);
    const parts: number[] = [];
    takePieces(noting, parts, pieces);
    expect(parts[0]).toBe(12);
    expect(waitForPieces(noting, parts, pieces, patienceMs)).toBe(false);
    expect(parts.sort((a, b) => a - b)).toEqual(numbers(100).filter((part) => part < 6 || part >= 12));
  });

  it('tells when another thread does not finish what it has taken', () => {
    const parts: number[] = [];
    const pieces = cutToPieces(100);
    Atomics.add(pieces.state, 0, 1);
    takePieces(noting, parts, pieces);
    expect(waitForPieces(noting, parts, pieces, patienceMs)).toBe(true);
  });
});
