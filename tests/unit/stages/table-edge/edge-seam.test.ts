import { describe, expect, it } from 'vitest';
import type { Camera } from '../../../../server/geometry/camera.js';
import { tablePoint } from '../../../../server/geometry/frames.js';
import { normalCdf } from '../../../../server/images/normal-curve.js';
import type { Raster } from '../../../../server/images/raster.js';
import { profilesAcross } from '../../../../server/stages/table-edge/curve-profiles.js';
import type { EdgeCurve } from '../../../../server/stages/table-edge/edge-places.js';
import { findEdgeSeam } from '../../../../server/stages/table-edge/edge-seam.js';
import { findSideFace } from '../../../../server/stages/table-edge/side-face.js';
import { LineProjector } from '../../../../server/stages/table-edge/table-lines.js';
import { seededRandom } from '../../../support/seeded-random.js';
import { codeOfLight } from '../../../support/upright-edge.js';

const width = 1200;
const height = 400;
const edgeRow = 200.3;
/** Three pixels a millimetre, straight down; pixel row = 150 − 3·y. */
const camera = (overheadMm: number): Camera => ({
  lens: { fx: 3 * overheadMm, fy: 3 * overheadMm, cx: 600, cy: 150, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, overheadMm] },
});
const projector = new LineProjector(camera(1000), tablePoint(0, 0), width, height);
/** Along the row `row`, the table above it in the picture. */
const curveAt = (row: number): EdgeCurve => ({
  line: { thetaRad: -Math.PI / 2, rhoMm: (row - 150) / 3 },
  shiftPx: [0],
  fromMm: Number.NEGATIVE_INFINITY,
  toMm: Number.POSITIVE_INFINITY,
});
const rowOf = (curve: EdgeCurve): number => 150 + 3 * curve.line.rhoMm + curve.shiftPx[0];

/**
 * Light down the picture: finish, then what each step turns it into; blurred by 0.7 px, coded, colour at half the
 * resolution as in every JPEG of a phone, with noise.
 * @param halo how much a phone's sharpening overshoots, as a share of the step
 * @param grain how far noise reaches from darkest to brightest, codes
 */
function picture(
  finish: readonly number[],
  steps: readonly { at: number; to: readonly number[] }[],
  halo = 0,
  grain = 60,
): Raster {
  const random = seededRandom(7);
  const coded = Array.from({ length: height }, (_, y) => {
    const light = [...finish];
    let last = finish;
    for (const { at, to } of steps) {
      const d = (y - at) / 0.7;
      for (let c = 0; c < 3; c++) light[c] += (to[c] - last[c]) * (normalCdf(d) + halo * d * Math.exp((-d * d) / 4));
      last = to;
    }
    return light.map((v) => codeOfLight(Math.max(0, v)));
  });
  const luma = coded.map(([r, g, b]) => 0.299 * r + 0.587 * g + 0.114 * b);
  const halved = (c: number): number[] =>
    Array.from(
      { length: height / 2 },
      (_, k) => (coded[2 * k][c] - luma[2 * k] + coded[2 * k + 1][c] - luma[2 * k + 1]) / 2,
    );
  const chroma = [0, 1, 2].map(halved);
  const chromaAt = (c: number, y: number): number => {
    const u = Math.min(Math.max(y / 2 - 0.25, 0), height / 2 - 1.001);
    const k = Math.floor(u);
    return (1 - u + k) * chroma[c][k] + (u - k) * chroma[c][k + 1];
  };
  const data = new Uint8Array(3 * width * height);
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++)
      for (let c = 0; c < 3; c++)
        data[3 * (y * width + x) + c] = Math.round(luma[y] + chromaAt(c, y) + grain * (random() - 0.5));
  return { widthPx: width, heightPx: height, channels: 3, data };
}

const wood = [0.4, 0.26, 0.12];
const dark = [0.05, 0.03, 0.012];
const tiles = [0.13, 0.12, 0.1];

describe('a thin line along the very edge', () => {
  const seamed = picture(wood, [
    { at: edgeRow - 2.4, to: dark },
    { at: edgeRow, to: tiles },
  ]);

  it.each([edgeRow - 2.4, edgeRow - 1, edgeRow])(
    'belongs to the table: from row %d the curve moves to its outer border',
    (row) => {
      const seam = findEdgeSeam(profilesAcross(seamed, projector, curveAt(row)), projector);
      expect(seam?.sure).toBe(true);
      if (!seam) return;
      // A line half as wide and more blurred looks much the same.
      expect(Math.abs(rowOf(seam.curve) - edgeRow)).toBeLessThan(0.9);
      expect(Math.abs(seam.widthMm - 0.8)).toBeLessThan(0.45);
    },
  );

  it('is not seen in a plain edge', () => {
    const plain = picture(wood, [{ at: edgeRow, to: tiles }]);
    expect(findEdgeSeam(profilesAcross(plain, projector, curveAt(edgeRow)), projector)?.sure ?? false).toBe(false);
  });

  it('is not seen in the overshoot of a sharpened edge', () => {
    const sharpened = picture(wood, [{ at: edgeRow, to: tiles }], 0.15);
    expect(findEdgeSeam(profilesAcross(sharpened, projector, curveAt(edgeRow)), projector)?.sure ?? false).toBe(false);
  });

  it.each([0.2, 0.3, 0.4])('is not seen where sharpening overshoots by %d, whatever the blur', (halo) => {
    const sharpened = picture(tiles, [{ at: edgeRow, to: wood }], halo, 8);
    expect(findEdgeSeam(profilesAcross(sharpened, projector, curveAt(edgeRow)), projector)?.sure ?? false).toBe(false);
  });

  it('is not seen where the hue changes across the edge and the brightness hardly does', () => {
    const hues = picture([0.1, 0.2, 0.13], [{ at: edgeRow, to: [0.32, 0.12, 0.03] }], 0.1, 8);
    expect(findEdgeSeam(profilesAcross(hues, projector, curveAt(edgeRow)), projector)?.sure ?? false).toBe(false);
  });

  it('may show in colour alone against the floor', () => {
    const red = [0.24, 0.085, 0.02];
    const lineOnFloor = picture(wood, [
      { at: edgeRow - 3.2, to: red },
      { at: edgeRow, to: tiles },
    ]);
    const seam = findEdgeSeam(profilesAcross(lineOnFloor, projector, curveAt(edgeRow - 3.2)), projector);
    expect(seam?.sure).toBe(true);
    if (seam) expect(Math.abs(rowOf(seam.curve) - edgeRow)).toBeLessThan(1);
  });

  it.each([1, 1.5, 2, 2.5])('is not a plain edge that the moving hand drew %d px wide', (wide) => {
    const parts = 10;
    const drawn = Array.from({ length: parts }, (_, i) => {
      const share = (i + 1) / parts;
      return {
        at: edgeRow + ((i + 0.5) / parts - 0.5) * wide,
        to: wood.map((v, c) => v + share * (tiles[c] - v)),
      };
    });
    const smooth = picture(wood, drawn, 0, 4);
    expect(findEdgeSeam(profilesAcross(smooth, projector, curveAt(edgeRow)), projector)?.sure ?? false).toBe(false);
  });
});

describe('the face of the table top, seen from beyond the edge', () => {
  /** The camera stands about 200 mm beyond the edge: 8 mm of face are about 4 px. */
  const beyond = new LineProjector(
    {
      lens: { fx: 3000, fy: 3000, cx: 600, cy: 750, k1: 0, k2: 0, p1: 0, p2: 0 },
      cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, -200, 1000] },
    },
    tablePoint(0, 0),
    width,
    height,
  );
  const facePx = beyond.faceWidthPx(curveAt(edgeRow).line, 0, 8);

  it.each([0, facePx])('is found, and the curve put on its upper edge, from %d px below that', (off) => {
    const raster = picture(wood, [
      { at: edgeRow, to: [0.2, 0.12, 0.05] },
      { at: edgeRow + facePx, to: tiles },
    ]);
    const face = findSideFace(profilesAcross(raster, beyond, curveAt(edgeRow + off)), beyond);
    expect(face?.depthMm).toBe(8);
    expect(Math.abs(rowOf(face?.curve ?? curveAt(0)) - edgeRow)).toBeLessThan(0.1);
  });

  it.each([0.9, 1.1])('is not made of the grain of the table top, %d times as bright', (share) => {
    const raster = picture(wood, [
      { at: edgeRow - facePx, to: wood.map((v) => share * v) },
      { at: edgeRow, to: dark },
    ]);
    expect(findSideFace(profilesAcross(raster, beyond, curveAt(edgeRow)), beyond)).toBeNull();
  });
});
