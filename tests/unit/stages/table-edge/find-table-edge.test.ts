import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../../server/geometry/camera.js';
import type { Raster } from '../../../../server/images/raster.js';
import type { MarkerDetection } from '../../../../server/scene/marker-detection.js';
import { findSides, measureSide } from '../../../../server/stages/table-edge/find-table-edge.js';
import { normalFrom, seededRandom } from '../../../support/seeded-random.js';

/** Straight down on a table of 1000 × 600 mm, 1 mm a pixel, and 100 mm of floor on every side. */
const camera: Camera = {
  lens: { fx: 1500, fy: 1500, cx: 599.5, cy: 399.5, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-500, 300, 1500] },
};
const widthPx = 1200;
const heightPx = 800;

type Colour = readonly [number, number, number];

/** The table on a floor of square tiles of 150 mm with dark joints between them, with noise; and a dark marker on it. */
function pictureOf(table: Colour, floor: Colour): Raster {
  const normal = normalFrom(seededRandom(7));
  const data = new Uint8Array(widthPx * heightPx * 3);
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      const isTable = x >= 100 && x < 1100 && y >= 100 && y < 700;
      const isJoint = x % 150 < 2 || y % 150 < 2;
      const isMarker = x >= 500 && x < 620 && y >= 340 && y < 460;
      const colour = isMarker ? ([30, 30, 30] as const) : isTable ? table : floor;
      const share = isJoint && !isTable ? 0.6 : 1;
      for (let c = 0; c < 3; c++) data[3 * (y * widthPx + x) + c] = Math.round(colour[c] * share + 2 * normal());
    }
  return { widthPx, heightPx, channels: 3, data };
}

const at = (x: number, y: number) => {
  const p = photoFromTable(camera, x, y, 0);
  return { x: p.x, y: p.y };
};
const marker = {
  id: 0,
  cornersInPhoto: [at(400, 360), at(520, 360), at(520, 240), at(400, 240)],
} as unknown as MarkerDetection;
/** A straight row of track, beside which the table shows too. */
const trackInTable = Array.from({ length: 40 }, (_, i) => ({ x: 120 + 19 * i, y: 120 }));

function sidesOf(table: Colour, floor: Colour) {
  const raster = pictureOf(table, floor);
  const photo = { name: 'made', raster, exif: {} } as unknown as Parameters<typeof findSides>[0]['photo'];
  const found = findSides({ photo, camera, markers: [marker], trackInTable, railTopMm: 17.5, halfTrackMm: 20 });
  return (found?.sides ?? []).map((_, i) => found && measureSide(raster, camera, found, i)).filter((s) => s !== null);
}

/** How far the middle of a side lies from the nearest side of the true table, millimetres. */
function offMm(side: ReturnType<typeof sidesOf>[number]): number {
  const { through } = side.lineInTable;
  return Math.min(...[through.x, through.x - 1000, through.y, through.y - 600].map(Math.abs));
}

describe('the edge of a table', () => {
  it.each<[string, Colour, Colour]>([
    ['of quite another colour', [180, 150, 110], [90, 90, 95]],
    ['of nearly the same colour, a little greener', [124, 107, 98], [122, 113, 97]],
    ['of the same colour, a little darker', [124, 107, 98], [112, 97, 88]],
  ])('is found whole on a floor %s', (_what, table, floor) => {
    const sides = sidesOf(table, floor);
    expect(sides).toHaveLength(4);
    for (const side of sides) expect(offMm(side)).toBeLessThan(0.5);
  });

  it('is not invented where the floor looks like the table', () => {
    expect(sidesOf([124, 107, 98], [124, 107, 98])).toEqual([]);
  });
});
