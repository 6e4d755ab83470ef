import { describe, expect, it } from 'vitest';
import type { Camera } from '../../../../server/geometry/camera.js';
import { tablePoint } from '../../../../server/geometry/frames.js';
import { alongMm, type EdgeCurve } from '../../../../server/stages/table-edge/edge-places.js';
import type { FinishLook } from '../../../../server/stages/table-edge/finish-model.js';
import { evaluatePolynomial } from '../../../../server/stages/table-edge/polynomial.js';
import { straightenSides } from '../../../../server/stages/table-edge/straighten-sides.js';
import { LineProjector } from '../../../../server/stages/table-edge/table-lines.js';
import { seededRandom } from '../../../support/seeded-random.js';

const [widthPx, heightPx, edgeRow] = [1200, 400, 200];
/** Three pixels a millimetre, straight down; pixel row = 150 − 3·y. */
const camera: Camera = {
  lens: { fx: 3000, fy: 3000, cx: 600, cy: 150, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, 1000] },
};
const projector = new LineProjector(camera, tablePoint(0, 0), widthPx, heightPx);

type Columns = readonly [from: number, to: number];

/** Bright table above, and in some columns dark floor below its edge; in the others nothing but table. */
function picture([from, to]: Columns) {
  const random = seededRandom(11);
  const data = new Uint8Array(3 * widthPx * heightPx);
  for (let i = 0; i < data.length; i++) {
    const row = Math.floor(i / (3 * widthPx));
    const column = Math.floor(i / 3) % widthPx;
    const isFloor = row >= edgeRow && column >= from && column < to;
    data[i] = (isFloor ? 60 : 170) + 6 * (random() - 0.5);
  }
  return { widthPx, heightPx, channels: 3, data } as const;
}

const finish: FinishLook = {
  scale: 1,
  likenessOf: (red) => (red > 0.5 ? 1 : 0),
  whitening: [50, 0, 50, 0, 0, 50],
};

/** The first row of floor, half a pixel up: where the step in brightness is. */
const stepRow = edgeRow - 0.5;

/** The rows of a straightened curve whose line lay so many pixels below the edge; the curve bowed and tilted from it. */
function rowsOf(belowPx: number, bowPx: number, tiltPx = 0, edge: Columns = [0, widthPx]): number[] {
  const lineRow = stepRow + belowPx;
  // The line runs 400 mm through the picture, from −200 mm to 200 mm.
  const curve: EdgeCurve = {
    line: { thetaRad: -Math.PI / 2, rhoMm: (lineRow - 150) / 3 },
    shiftPx: [0, (tiltPx * alongMm) / 200, (bowPx * alongMm ** 2) / 200 ** 2],
    fromMm: Number.NEGATIVE_INFINITY,
    toMm: Number.POSITIVE_INFINITY,
  };
  const [straight] = straightenSides(picture(edge), camera, projector, finish, () => 1000, [curve]);
  return [-180, -90, 0, 90, 180].map((s) => lineRow + evaluatePolynomial(straight.shiftPx, s / alongMm));
}

describe('a side made straight', () => {
  it.each([
    { belowPx: 0, bowPx: 0 },
    { belowPx: 6, bowPx: 0 },
    { belowPx: -30, bowPx: 0 },
    { belowPx: 40, bowPx: -8 },
    { belowPx: 25, bowPx: 45 },
  ])('lies on the edge, though its line lay $belowPx px below and its curve bowed by $bowPx px', (astray) => {
    for (const row of rowsOf(astray.belowPx, astray.bowPx)) expect(Math.abs(row - stepRow)).toBeLessThan(0.6);
  });

  it.each([
    { belowPx: 45, tiltPx: -25, edge: [0, 600] as const },
    { belowPx: 20, tiltPx: -60, edge: [100, 400] as const },
  ])('lies on the edge that shows in columns $edge, though its curve lay $tiltPx px aslant', (astray) => {
    const rows = rowsOf(astray.belowPx, 0, astray.tiltPx, astray.edge);
    for (const row of rows.slice(0, 2)) expect(Math.abs(row - stepRow)).toBeLessThan(0.6);
  });

  it('takes no grain for an edge: without one it rests on its line', () => {
    for (const row of rowsOf(-30, 0, 0, [0, 0])) expect(Math.abs(row - (stepRow - 30))).toBeLessThan(0.1);
  });
});
