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

const width = 700;
const height = 520;
const edgeRow = 400.3;
/** Three pixels a millimetre, straight down; pixel row = 150 − 3·y. */
const camera = (overheadMm: number): Camera => ({
  lens: { fx: 3 * overheadMm, fy: 3 * overheadMm, cx: 350, cy: 150, k1: 0, k2: 0, p1: 0, p2: 0 },
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
const bare = (): boolean => false;
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
const dark = [0.1, 0.065, 0.03];
const tiles = [0.13, 0.12, 0.1];
const jointPx = 2.4;
const boardPx = 135;

/** A joint whose outer border is at a row. */
const joint = (row: number, beyond: readonly number[] = wood) => [
  { at: row - jointPx, to: dark },
  { at: row, to: beyond },
];

describe('the joint of the last board along the very edge', () => {
  const inner = [...joint(edgeRow - 2 * boardPx), ...joint(edgeRow - boardPx)];

  it.each([
    ['a darker floor', tiles],
    ['a floor as dark as the joint', dark],
    ['a floor as bright as the boards', [0.3, 0.28, 0.25]],
  ])('belongs to the table, beside %s: the curve moves to its outer border', (_, floor) => {
    const boards = picture(wood, [...inner, ...joint(edgeRow, floor)], 0, 20);
    for (const row of [edgeRow - jointPx, edgeRow - 1, edgeRow]) {
      const seam = findEdgeSeam(boards, profilesAcross(boards, projector, curveAt(row), bare), projector);
      expect(seam).not.toBeNull();
      if (!seam) return;
      expect(Math.abs(rowOf(seam.curve) - edgeRow)).toBeLessThan(0.35);
      expect(Math.abs(seam.widthMm - jointPx / 3)).toBeLessThan(0.3);
    }
  });

  it('is as dark as the others are, also where a bright rail lies beside one of them', () => {
    const narrowPx = 123;
    const rail = [
      { at: edgeRow - 2 * narrowPx + 8, to: [0.8, 0.7, 0.6] },
      { at: edgeRow - 2 * narrowPx + 16, to: wood },
    ];
    const inside = [3, 2, 1].flatMap((k) => [...joint(edgeRow - k * narrowPx), ...(k === 2 ? rail : [])]);
    const boards = picture(wood, [...inside, ...joint(edgeRow, tiles)], 0, 20);
    const seam = findEdgeSeam(boards, profilesAcross(boards, projector, curveAt(edgeRow - 1), bare), projector);
    expect(seam).not.toBeNull();
    if (seam) expect(Math.abs(seam.widthMm - jointPx / 3)).toBeLessThan(0.3);
  });

  it('is told by joints farther inside where track lies on the first of them', () => {
    const narrowPx = 123;
    const track = [
      { at: edgeRow - narrowPx - 20, to: [0.8, 0.7, 0.6] },
      { at: edgeRow - narrowPx + 8, to: wood },
    ];
    const inside = [...joint(edgeRow - 3 * narrowPx), ...joint(edgeRow - 2 * narrowPx), ...track];
    const boards = picture(wood, [...inside, ...joint(edgeRow, tiles)], 0, 20);
    const seam = findEdgeSeam(boards, profilesAcross(boards, projector, curveAt(edgeRow - 1), bare), projector);
    expect(seam).not.toBeNull();
    if (seam) expect(Math.abs(rowOf(seam.curve) - edgeRow)).toBeLessThan(0.35);
  });

  it.each([
    ['a shadow of the table on the floor', []],
    ['a line, and one joint inside', joint(edgeRow - boardPx)],
    ['a line, and joints that do not lie as far apart', [...joint(edgeRow - 235), ...joint(edgeRow - 100)]],
    ['a line, and rails along it', [...joint(edgeRow - 108), ...joint(edgeRow - 54)]],
  ])('is not %s', (_, inside) => {
    const lined = picture(wood, [...inside, ...joint(edgeRow, tiles)], 0, 20);
    expect(findEdgeSeam(lined, profilesAcross(lined, projector, curveAt(edgeRow), bare), projector)).toBeNull();
  });

  it('is not there where the last board was cut', () => {
    const cut = picture(wood, [...inner, { at: edgeRow, to: tiles }], 0, 20);
    expect(findEdgeSeam(cut, profilesAcross(cut, projector, curveAt(edgeRow), bare), projector)).toBeNull();
  });

  it('is not made of grain that runs along the side', () => {
    const random = seededRandom(3);
    const grain = Array.from({ length: 60 }, (_, i) => {
      const share = 0.75 + 0.4 * random();
      return { at: 20 + 6 * i, to: wood.map((v) => share * v) };
    });
    const grained = picture(wood, [...grain, { at: edgeRow, to: tiles }], 0, 20);
    expect(findEdgeSeam(grained, profilesAcross(grained, projector, curveAt(edgeRow), bare), projector)).toBeNull();
  });
});

describe('the face of the table top, seen from beyond the edge', () => {
  /** Seen by a camera that stands so far from the middle of the table, straight down. */
  const from = (asideMm: number): LineProjector =>
    new LineProjector(
      {
        lens: { fx: 3000, fy: 3000, cx: 350, cy: 150 + 3 * asideMm, k1: 0, k2: 0, p1: 0, p2: 0 },
        cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, -asideMm, 1000] },
      },
      tablePoint(0, 0),
      width,
      height,
    );
  /** About 200 mm beyond the edge: 8 mm of face are about 4 px. */
  const beyond = from(200);
  const facePx = beyond.faceWidthPx(curveAt(edgeRow).line, 0, 8);

  it('is no thicker than usual where it is seen a pixel wide, in a sharpened photo', () => {
    const slight = from(100);
    const narrowPx = slight.faceWidthPx(curveAt(edgeRow).line, 0, 25);
    const steps = [
      { at: edgeRow, to: wood.map((v) => 0.4 * v) },
      { at: edgeRow + narrowPx, to: tiles },
    ];
    const across = profilesAcross(picture(wood, steps, 0.4, 20), slight, curveAt(edgeRow + narrowPx), bare);
    const face = findSideFace(across, slight);
    expect(Math.abs(rowOf(face?.curve ?? curveAt(edgeRow + narrowPx)) - edgeRow)).toBeLessThan(0.8);
  });

  it.each([0, facePx])('is found, and the curve put on its upper edge, from %d px below that', (off) => {
    const raster = picture(wood, [
      { at: edgeRow, to: [0.2, 0.12, 0.05] },
      { at: edgeRow + facePx, to: tiles },
    ]);
    const face = findSideFace(profilesAcross(raster, beyond, curveAt(edgeRow + off), bare), beyond);
    expect(face?.depthMm).toBe(8);
    expect(Math.abs(rowOf(face?.curve ?? curveAt(0)) - edgeRow)).toBeLessThan(0.1);
  });

  it.each([0.9, 1.1])('is not made of the grain of the table top, %d times as bright', (share) => {
    const raster = picture(wood, [
      { at: edgeRow - facePx, to: wood.map((v) => share * v) },
      { at: edgeRow, to: dark },
    ]);
    expect(findSideFace(profilesAcross(raster, beyond, curveAt(edgeRow), bare), beyond)).toBeNull();
  });
});
