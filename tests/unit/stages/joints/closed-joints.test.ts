import { describe, expect, it } from 'vitest';
import type { Camera } from '../../../../server/geometry/camera.js';
import type { Raster } from '../../../../server/images/raster.js';
import type { CentreLine } from '../../../../server/scene/rail-joint.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { findSlits } from '../../../../server/stages/joints/closed-joints.js';

const widthPx = 1400;
const heightPx = 110;
const pixelMm = 0.6;
const eyeMm = 1500;
const middleX = (widthPx * pixelMm) / 2;

/** Straight down from above the middle of a track that lies along x. */
const camera: Camera = {
  lens: { fx: eyeMm / pixelMm, fy: eyeMm / pixelMm, cx: widthPx / 2, cy: heightPx / 2, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-middleX, 0, eyeMm] },
};

const line: CentreLine = {
  stepMm: 4,
  closed: false,
  places: Array.from({ length: 191 }, (_, i) => ({ x: 40 + 4 * i, y: 0, headingRad: 0 })),
};

interface Drawn {
  readonly slits: readonly { x: number; widthMm: number }[];
  readonly ties: readonly number[];
  readonly table: number;
  /** A dark spot on one head only. */
  readonly spotAt?: number;
  /** The light falls along the slits: the heads' own are as bright as the heads. */
  readonly isLit?: boolean;
}

/** Even noise −0.5…0.5 of a place, the same at every call. */
function grain(a: number, b: number): number {
  const v = Math.sin(a * 12.9898 + b * 78.233) * 43758.5453;
  return v - Math.floor(v) - 0.5;
}

/** Light of what a line of sight meets: heads over flanges over the table, linear. */
function lightAt(drawn: Drawn, xTable: number, yTable: number): number {
  const at = (h: number): [number, number] => [
    middleX + ((xTable - middleX) * (eyeMm - h)) / eyeMm,
    (yTable * (eyeMm - h)) / eyeMm,
  ];
  const inSlit = (x: number): boolean => drawn.slits.some((s) => Math.abs(x - s.x) < s.widthMm / 2);
  for (const rail of [-18.175, 0, 18.175]) {
    const [x, y] = at(16.4);
    const off = Math.abs(y - rail) / 2.3;
    // Between the ends of two tubes little light gets in, and what table is seen there lies in the shade.
    if (off < 1 && inSlit(x) && !drawn.isLit) return 0.2 * drawn.table;
    if (off < 1) {
      const spot = rail === 0 && Math.abs(x - (drawn.spotAt ?? -99)) < 1 ? 0.3 : 1;
      return spot * (0.25 + 0.5 * Math.exp(-((off / 0.3) ** 2))) * (1 + 0.25 * grain(Math.floor(x / 1.3), rail));
    }
    const [fx, fy] = at(7);
    if (Math.abs(fy - rail) < 4.5 && !inSlit(fx)) {
      const tie = drawn.ties.some((t) => Math.abs(fx - t) < 7) ? 0.5 : 1;
      return tie * 0.3 * (1 + 0.3 * grain(Math.floor(fx / 1.1), Math.floor(fy / 1.1)));
    }
  }
  return drawn.table;
}

/** The picture, blurred over a pixel and a half as a lens and a sensor do, coded as sRGB. */
function photoOf(drawn: Drawn): Raster {
  const data = new Uint8Array(widthPx * heightPx * 3);
  const taps = [-0.6, 0, 0.6];
  for (let py = 0; py < heightPx; py++)
    for (let px = 0; px < widthPx; px++) {
      let light = 0;
      for (const dx of taps)
        light +=
          lightAt(drawn, middleX + (px + dx - widthPx / 2) * pixelMm, -(py - heightPx / 2) * pixelMm) / taps.length;
      const coded = 255 * (1.055 * Math.max(0.0031, light) ** (1 / 2.4) - 0.055) + 6 * grain(px, py);
      data.fill(Math.max(0, Math.min(255, Math.round(coded))), (py * widthPx + px) * 3, (py * widthPx + px) * 3 + 3);
    }
  return { widthPx, heightPx, channels: 3, data };
}

const ties = [80, 175, 245, 330, 430, 498, 590, 690, 750];
const found = (drawn: Drawn) =>
  findSlits({ raster: photoOf(drawn), camera, track: tallTrack, line }, 0, 760).sort((a, b) => a.s - b.s);

describe('closed joints', () => {
  const slits = [
    { x: 210, widthMm: 1.7 },
    { x: 464, widthMm: 0.9 },
  ];

  it('are found where all rails show a slit, a dark table behind it', () => {
    const joints = found({ slits, ties, table: 0.04 });
    expect(joints).toHaveLength(2);
    joints.forEach((j, i) => {
      expect(Math.abs(j.s + 40 - slits[i].x)).toBeLessThan(1.2);
      expect(j.open).toBe(false);
      expect(Math.abs(j.gapMm.value - slits[i].widthMm)).toBeLessThan(2 * j.gapMm.u);
      expect(j.gapMm.u).toBeLessThan(0.5);
    });
    expect(joints[0].gapMm.value).toBeGreaterThan(joints[1].gapMm.value + 0.2);
  });

  it('are found too where a table brighter than the flange shines through', () => {
    const joints = found({ slits, ties, table: 0.6 });
    expect(joints).toHaveLength(2);
    joints.forEach((j, i) => {
      expect(Math.abs(j.s + 40 - slits[i].x)).toBeLessThan(1.2);
    });
  });

  it('are found by bright flanges alone where the heads are lit in the slit', () => {
    const joints = found({ slits, ties, table: 0.6, isLit: true });
    expect(joints).toHaveLength(2);
    joints.forEach((j, i) => {
      expect(Math.abs(j.s + 40 - slits[i].x)).toBeLessThan(1.2);
    });
  });

  it('are not invented at ties, nor at a spot on one rail', () => {
    expect(found({ slits: [], ties, table: 0.04, spotAt: 370 })).toEqual([]);
    expect(found({ slits: [], ties, table: 0.6, spotAt: 370 })).toEqual([]);
  });
});
