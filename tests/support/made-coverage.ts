import type { Coverage } from '../../server/contract/coverage.js';

/**
 * A coverage picture as a measurement with one marker would have it, for tests of what is shown: surest around the
 * marker, the last columns in no photo, one covered cell. Never used to test measuring.
 */
export function madeCoverage(lengthMm: number, widthMm: number, marker: readonly [number, number]): Coverage {
  const columns = Math.round(lengthMm / 50);
  const rows = Math.round(widthMm / 50);
  const cellMm: [number, number] = [lengthMm / columns, widthMm / rows];
  const cells = Array.from({ length: columns * rows }, (_, i): Coverage['cells'][number] => {
    const [column, row] = [i % columns, Math.floor(i / columns)];
    if (column >= columns - 2) return 'not-seen';
    if (column === 8 && row === 3) return 'covered';
    const away = Math.hypot((column + 0.5) * cellMm[0] - marker[0], (row + 0.5) * cellMm[1] - marker[1]);
    return Number((0.2 + 1.7 * (away / 1000) ** 2).toFixed(3));
  });
  return {
    cellMm,
    origin: [0, 0],
    columns,
    rows,
    cells,
    openEnds: [],
    leastSure: { what: 'clearance', near: { side: 'B', part: 'right' }, u: 1.2, at: [lengthMm - 120, widthMm - 200] },
    helps: [
      { kind: 'marker', near: { side: 'B', part: 'right' }, inwards: false, at: [lengthMm - 150, 900], thenU: 0.42 },
      {
        kind: 'photo',
        near: { side: 'A', part: 'right' },
        inwards: false,
        at: [lengthMm - 300, 150],
        heightMm: 1500,
        markers: [0],
        thenU: 0.5,
        showsMore: 0.05,
      },
    ],
  };
}
