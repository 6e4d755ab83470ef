import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable, tableFromPhotoAtHeight } from '../../../server/geometry/camera.js';
import { fillGreyPlan } from '../../../server/images/grey-plan.js';
import { greyPyramid } from '../../../server/images/grey-pyramid.js';
import { cellRows } from '../../../server/images/plan-sampling.js';

const heightMm = 15;
const [widthPx, heightPx] = [640, 480];

/** A camera whose view is tilted by an angle from straight down, so far from the middle of the table. */
function cameraAt(distanceMm: number, tiltRad: number): Camera {
  const [c, s] = [Math.cos(tiltRad), Math.sin(tiltRad)];
  return {
    lens: { fx: 500, fy: 500, cx: 319.5, cy: 239.5, k1: -0.03, k2: 0, p1: 0, p2: 0 },
    cameraFromTable: { rotation: [1, 0, 0, 0, -c, -s, 0, s, -c], translation: [0, 0, distanceMm] },
  };
}

/** A soft pattern of the table, codes. */
const codeAt = (x: number, y: number): number => 128 + 60 * Math.sin(x / 40) * Math.cos(y / 35);

function levelsSeenBy(camera: Camera) {
  const data = Uint8Array.from({ length: widthPx * heightPx }, (_, i) => {
    const p = tableFromPhotoAtHeight(camera, i % widthPx, Math.floor(i / widthPx), heightMm);
    return Math.round(codeAt(p.x, p.y));
  });
  return greyPyramid({ widthPx, heightPx, channels: 1, data }, 60);
}

describe('a grey plan', () => {
  it.each([
    { name: 'straight above, pixels as large as the photo’s', distanceMm: 600, tiltRad: 0, mmPerPx: 1.2 },
    { name: 'pixels three times as large', distanceMm: 600, tiltRad: 0, mmPerPx: 3.6 },
    { name: 'aslant, where they are larger across than along', distanceMm: 700, tiltRad: 1, mmPerPx: 3 },
  ])('shows what lies at each place: $name', ({ distanceMm, tiltRad, mmPerPx }) => {
    const camera = cameraAt(distanceMm, tiltRad);
    const grid = {
      x0: -230,
      y1: 160,
      mmPerPx,
      widthPx: Math.round(460 / mmPerPx),
      heightPx: Math.round(320 / mmPerPx),
    };
    const plan = new Float32Array(grid.widthPx * grid.heightPx);
    const rows = cellRows(grid);
    const asked = { levels: levelsSeenBy(camera), camera, grid, heightMm, out: plan, needed: null };
    // In two parts, as two threads do it.
    fillGreyPlan(asked, rows >> 1, rows);
    fillGreyPlan(asked, 0, rows >> 1);
    let seen = 0;
    for (let at = 0; at < plan.length; at++) {
      const x = grid.x0 + (at % grid.widthPx) * mmPerPx;
      const y = grid.y1 - Math.floor(at / grid.widthPx) * mmPerPx;
      const p = photoFromTable(camera, x, y, heightMm);
      const inside = p.x > 8 && p.y > 8 && p.x < widthPx - 9 && p.y < heightPx - 9;
      if (inside) seen++;
      // The pattern changes by 1.7 codes a millimetre at most: a place wrong by a millimetre would show.
      if (inside) expect(Math.abs(plan[at] - codeAt(x, y))).toBeLessThan(1.5);
      if (p.x < -8 || p.y < -8 || p.x > widthPx + 7 || p.y > heightPx + 7) expect(plan[at]).toBeNaN();
    }
    expect(seen).toBeGreaterThan(plan.length / 3);
  });

  it('is drawn where it is needed only', () => {
    const camera = cameraAt(600, 0);
    const grid = { x0: -100, y1: 100, mmPerPx: 2, widthPx: 40, heightPx: 40 };
    const plan = new Float32Array(1600).fill(7);
    const needed = { cells: new Uint8Array(11 * 10), across: 11 };
    needed.cells[5 * needed.across + 3] = 1;
    fillGreyPlan({ levels: levelsSeenBy(camera), camera, grid, heightMm, out: plan, needed }, 0, cellRows(grid));
    const drawn = plan.reduce((count, value) => count + (value === 7 ? 0 : 1), 0);
    expect(drawn).toBe(16);
    expect(plan[20 * 40 + 12]).not.toBe(7);
  });
});
