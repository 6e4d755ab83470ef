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

/** What the table top or the floor looks like at a pixel. */
type Finish = (x: number, y: number) => Colour;

const plain =
  (colour: Colour): Finish =>
  () =>
    colour;

/** Square tiles of 150 mm with dark joints between them. */
const tiles =
  (colour: Colour): Finish =>
  (x, y) =>
    x % 150 < 2 || y % 150 < 2 ? times(colour, 0.6) : colour;

/** Boards of 50 mm with dark joints between them, of which one may be a third brighter than another. */
const boards =
  (colour: Colour, seed: number): Finish =>
  (x, y) => {
    const row = Math.floor((y + 23 * seed) / 50);
    const along = x + 173 * ((row * 7 + seed) % 5);
    const board = seededRandom(1000 * seed + 31 * row + Math.floor(along / 270) + 500)();
    return along % 270 < 2 || (y + 23 * seed) % 50 < 2 ? times(colour, 0.6) : times(colour, 0.86 + 0.28 * board);
  };

const times = (colour: Colour, share: number): Colour => [colour[0] * share, colour[1] * share, colour[2] * share];

/** The table on a floor, with noise, and a dark marker on it. */
function pictureOf(table: Finish, floor: Finish): Raster {
  const normal = normalFrom(seededRandom(7));
  const data = new Uint8Array(widthPx * heightPx * 3);
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      const isTable = x >= 100 && x < 1100 && y >= 100 && y < 700;
      const isMarker = x >= 500 && x < 620 && y >= 340 && y < 460;
      const colour = isMarker ? ([30, 30, 30] as const) : (isTable ? table : floor)(x, y);
      for (let c = 0; c < 3; c++) data[3 * (y * widthPx + x) + c] = Math.round(colour[c] + 2 * normal());
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

function sidesOf(table: Finish, floor: Finish) {
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
    const sides = sidesOf(plain(table), tiles(floor));
    expect(sides).toHaveLength(4);
    for (const side of sides) expect(offMm(side)).toBeLessThan(0.5);
  });

  it('is found whole where table and floor are of the same boards, one by one alike, and the floor is darker on the whole', () => {
    const sides = sidesOf(boards([150, 105, 65], 1), boards([122, 86, 53], 2));
    expect(sides).toHaveLength(4);
    for (const side of sides) expect(offMm(side)).toBeLessThan(2);
  });

  it.each<[string, Finish, Finish]>([
    ['looks like the table', plain([124, 107, 98]), tiles([124, 107, 98])],
    ['is of boards as the table is', boards([150, 105, 65], 1), boards([150, 105, 65], 2)],
  ])('is not invented where the floor %s', (_what, table, floor) => {
    expect(sidesOf(table, floor)).toEqual([]);
  });
});
