import { describe, expect, it } from 'vitest';
import type { Settings } from '../../../server/contract/tables.js';
import { inputsDigest, isStale, newTable } from '../../../server/projects/table-document.js';

const measured = (change: Partial<Settings> = {}) => {
  const table = newTable('attic-12345678', 'Attic', false, new Date(0));
  const stamp = `${inputsDigest(table)}-20261125`;
  return isStale({ ...table, measuredInputs: stamp, settings: { ...table.settings, ...change } });
};

describe('whether a measurement is that of the settings of now', () => {
  it.each<[string, Partial<Settings>]>([
    ['the marker’s side', { markerSideMm: 118 }],
    ['a tape between two markers', { tapeChecks: [{ from: 1, to: 2, lengthMm: 900, uMm: null }] }],
    ['a tape of a table side', { sideChecks: [{ side: 'A', lengthMm: 1830, uMm: null }] }],
    ['that the corners are square', { squareCorners: true }],
  ])('it is out of date when this changes: %s', (_, change) => {
    expect(measured(change)).toBe(true);
  });

  it('it stays current when only the way of writing lengths changes', () => {
    expect(measured()).toBe(false);
    expect(measured({ unit: 'mm', denominator: 64 })).toBe(false);
  });

  it('tables that were measured before there were square corners and side tapes stay current', () => {
    const table = newTable('attic-12345678', 'Attic', false, new Date(0));
    // The digest of an empty table as it has been since the first version.
    expect(inputsDigest(table)).toBe('e0c124f8687147ae');
  });
});
