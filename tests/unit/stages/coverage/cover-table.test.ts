import { describe, expect, it } from 'vitest';
import type { Camera } from '../../../../server/geometry/camera.js';
import type { SolvedTable } from '../../../../server/scene/solved-table.js';
import { type CoverTableOptions, coverTable } from '../../../../server/stages/coverage/cover-table.js';
import { freePlaces } from '../../../../server/stages/coverage/free-places.js';
import { partOf, standingPlaces } from '../../../../server/stages/coverage/standing-places.js';
import { shows, tableArea } from '../../../../server/stages/coverage/table-area.js';
import { heldAt, solvedScene } from '../../../support/solved-scene.js';

const options: CoverTableOptions = {
  grid: { originX: 0, originY: 0, turnRad: 0, cellMm: [50, 50], columns: 36, rows: 24 },
  modelUMm: 0.2,
  sideLengthsU: () => [],
};
const above = heldAt([900, 500, 1600], [900, 600]);
const oneMarker = { markers: [{ id: 0, x: 400, y: 600 }], cameras: [above] };

/** Corners only just seen: what one marker then says of a table is little. */
function blurred(solved: SolvedTable, times: number): SolvedTable {
  return { ...solved, covariance: solved.covariance.map((v) => v * times * times) };
}

describe('the coverage of a table', () => {
  it('gives every cell that a photo shows the uncertainty of a clearance read there, never less than the model has', () => {
    const { cells } = coverTable(solvedScene(oneMarker), options);
    expect(cells).toHaveLength(36 * 24);
    for (const cell of cells) {
      expect(cell).toBeGreaterThan(0.2);
      expect(cell).toBeLessThan(2);
    }
  });

  it('is the same whichever way the cells are counted: a grid turned with the table', () => {
    const solved = solvedScene(oneMarker);
    // Seven millimetres to the side: no middle of a cell is equally far from two edges.
    const straight = { ...options.grid, originX: 7, columns: 35 };
    const turned = { ...straight, originX: 1757, originY: 1200, turnRad: Math.PI };
    const { cells } = coverTable(solved, { ...options, grid: straight });
    const back = [...coverTable(solved, { ...options, grid: turned }).cells].reverse();
    cells.forEach((cell, i) => {
      expect(back[i]).toBeCloseTo(Number(cell), 6);
    });
  });

  it('says of what no photo shows that it is not seen, of track that is hidden that it is covered, and nothing beside the table', () => {
    const left = heldAt([350, 500, 900], [350, 600]);
    const solved = solvedScene({ ...oneMarker, cameras: [left], hidden: [4] });
    const grid = { ...options.grid, originX: -100, columns: 40 };
    const { cells } = coverTable(solved, { ...options, grid });
    const at = (x: number, y: number) => cells[Math.floor(y / 50) * 40 + Math.floor((x + 100) / 50)];
    expect(at(1700, 600)).toBe('not-seen');
    expect(shows(solved, 0, 1700, 600)).toBe(false);
    expect(at(-60, 600)).toBeNull();
    const piece = solved.runs[0].pieces[4].arc;
    expect(at(piece.x, piece.y)).toBe('covered');
    expect(at(600, 600)).toEqual(expect.any(Number));
  });

  it('names the ends of sides whose corners were not seen, with the marker nearest to each', () => {
    const solved = solvedScene({
      ...oneMarker,
      markers: [
        { id: 4, x: 400, y: 600 },
        { id: 9, x: 1500, y: 600 },
      ],
    });
    const sides = solved.sides.flatMap((s) =>
      s.name === 'B' ? [] : [{ ...s, toCorner: s.name !== 'A', fromCorner: s.name !== 'C' }],
    );
    const side = [0, 2, 3].map((i) => solved.layout.side[i]);
    const open = coverTable({ ...solved, sides, layout: { ...solved.layout, side } }, options);
    expect(open.openEnds).toEqual([
      { side: 'A', part: 'right', marker: 9 },
      { side: 'C', part: 'left', marker: 9 },
    ]);
    // What no photo shows may or may not be table then.
    expect(open.cells).not.toContain('not-seen');
  });

  it('asks for nothing where every clearance is good to half a step of a filler', () => {
    const sure = solvedScene({ ...oneMarker, markers: [0, 1, 2].map((i) => ({ id: i, x: 300 + 600 * i, y: 600 })) });
    const { helps, leastSure } = coverTable(sure, options);
    expect(leastSure?.u).toBeLessThan(0.405);
    expect(helps).toEqual([]);
  });
});

describe('what would help most', () => {
  const unsure = blurred(solvedScene(oneMarker), 8);
  const covered = coverTable(unsure, options);

  it('is named with what it brings: less than the least sure clearance is now', () => {
    expect(covered.leastSure?.what).toBe('clearance');
    expect(covered.helps.length).toBeGreaterThan(0);
    for (const help of covered.helps) expect(help.thenU).toBeLessThan(0.8 * Number(covered.leastSure?.u));
  });

  it('is for a marker a place away from the marker that is there', () => {
    const marker = covered.helps.find((h) => h.kind === 'marker');
    expect(marker?.at[0]).toBeGreaterThan(1000);
  });

  it('is a photo of the rest where part of the table is in no photo', () => {
    const left = solvedScene({ ...oneMarker, cameras: [heldAt([350, 500, 1150], [350, 600])] });
    const { cells, helps } = coverTable(left, options);
    const unseen = cells.filter((c) => c === 'not-seen').length / cells.length;
    expect(unseen).toBeGreaterThan(0.1);
    expect(helps[0].kind).toBe('photo');
    expect(Number(helps[0].showsMore)).toBeGreaterThan(unseen / 2);
    expect(helps[0].markers).toEqual([0]);
  });
});

describe('places to lay a marker', () => {
  it('lie on the table, clear of track and of the other sheet', () => {
    const solved = solvedScene(oneMarker);
    const places = freePlaces(solved, tableArea(solved).contains);
    expect(places.length).toBeGreaterThan(10);
    for (const { x, y } of places) {
      expect(Math.min(x, y, 1800 - x, 1200 - y)).toBeGreaterThanOrEqual(89);
      expect(Math.hypot(x - 400, y - 600)).toBeGreaterThan(180);
      // The straights of the oval lie 90 mm from the long sides.
      if (x > 700 && x < 1100) expect(Math.abs(y - 90)).toBeGreaterThan(100);
    }
  });
});

describe('places to stand', () => {
  const solved = solvedScene(oneMarker);

  it('hold the phone as high as the photo at hand, over the table, and aim at it', () => {
    for (const { camera, above: down } of standingPlaces(solved)) {
      const [x, y, z] = centre(camera);
      expect(z).toBeCloseTo(1600, 6);
      expect(x > 0 && x < 1800 && y > 0 && y < 1200).toBe(true);
      // The third row of the rotation is where the camera looks.
      expect(camera.cameraFromTable.rotation[8]).toBeLessThan(down ? -0.999 : -0.6);
    }
  });

  it('are told apart as seen by a person who faces the table', () => {
    const [a, , c] = solved.sides;
    expect(partOf(a, a.fromS + 100)).toBe('left');
    expect(partOf(a, a.toS - 100)).toBe('right');
    // Side C runs the other way: its left end is over the right end of side A.
    expect(partOf(c, c.fromS + 100)).toBe('left');
  });
});

function centre({ cameraFromTable: { rotation: r, translation: t } }: Camera): [number, number, number] {
  const [x, y, z] = [0, 1, 2].map((k) => -(r[k] * t[0] + r[3 + k] * t[1] + r[6 + k] * t[2]));
  return [x, y, z];
}
