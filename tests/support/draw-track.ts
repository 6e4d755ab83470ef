import { type Camera, tableFromPhotoAtHeight } from '../../server/geometry/camera.js';
import type { Raster } from '../../server/images/raster.js';
import type { CentreLine } from '../../server/scene/rail-joint.js';
import { outerHeadOffsetMm, type TrackProfile } from '../../server/scene/track-profile.js';
import { seededRandom } from './seeded-random.js';

type Colour = readonly [number, number, number];
type Stretch = readonly [from: number, to: number];

/** Straight track along x from x = 0, on a coloured table; all places in millimetres along it. */
export interface DrawnTrack {
  readonly table: Colour;
  readonly rails: readonly Stretch[];
  /** Pins reach from the start of every stretch of rails back into the gap before it. */
  readonly pinMm: number;
  /** How bright pins are, as a share of the heads. */
  readonly pinShine?: number;
  /** The shadow of the pins, as wide as flanges, reaches as far back from where rails begin. */
  readonly pinShadowMm?: number;
  readonly ties: readonly Stretch[];
  readonly rust: readonly Stretch[];
  /** Rust on the heads alone. */
  readonly headRust?: readonly Stretch[];
  /** Something 30 mm high over the rails, 50 mm wide unless said. */
  readonly cover?: Stretch;
  readonly coverHalfMm?: number;
  /** Light from the open end lies on so much of the flanges before the end of every stretch of rails: there they look like table. */
  readonly litTipMm?: number;
  /** White paper lies on the table along x within this, on the left of the centre line and no farther to the right than so. */
  readonly sheet?: { readonly along: Stretch; readonly rightMm: number };
  /** Share of its brightness that the table keeps beside rails, in their shade; where there are none light falls in. */
  readonly shade?: number;
}

const steel: Colour = [205, 205, 208];
const flange: Colour = [92, 92, 95];
const rust: Colour = [110, 62, 38];
const tie: Colour = [28, 27, 26];
const paper: Colour = [235, 233, 226];
const pinShade = 0.3;
const coverColour: Colour = [150, 70, 30];

/** A camera 1.1 m above the track, 0.2 m beside it. */
export const cameraAboveTrack: Camera = {
  lens: { fx: 1100, fy: 1100, cx: 300, cy: 60, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [-300, 200, 1100] },
};

/** The same camera before the track's beginning: that faces it. */
export const cameraBeforeTrack: Camera = {
  lens: { ...cameraAboveTrack.lens, cx: -150 },
  cameraFromTable: { ...cameraAboveTrack.cameraFromTable, translation: [200, 200, 1100] },
};

export const lineAlongTrack: CentreLine = {
  stepMm: 8,
  closed: false,
  places: Array.from({ length: 76 }, (_, i) => ({ x: 8 * i, y: 0, headingRad: 0 })),
};

/** Paints track as the camera sees it, the highest part of it first; grain of 3 codes. */
export function drawTrack(scene: DrawnTrack, track: TrackProfile, seed: number, camera = cameraAboveTrack): Raster {
  const random = seededRandom(seed);
  const [widthPx, heightPx] = [620, 420];
  const data = new Uint8Array(widthPx * heightPx * 3);
  const outer = outerHeadOffsetMm(track);
  const flangeTop = track.flangeTopMm ?? 5;
  const within = (spans: readonly Stretch[], s: number): boolean => spans.some(([a, b]) => s >= a && s < b);
  const colourOf = (px: number, py: number): Colour => {
    const at = (z: number): { x: number; y: number; off: number } => {
      const { x, y } = tableFromPhotoAtHeight(camera, px, py, z);
      return { x, y, off: Math.min(...[-outer, 0, outer].map((o) => Math.abs(y - o))) };
    };
    const top = at(30);
    if (scene.cover && within([scene.cover], top.x) && Math.abs(top.y) < (scene.coverHalfMm ?? 25)) return coverColour;
    const head = at(track.railTopMm - track.headWidthMm / 2);
    const rusty = within(scene.rust, head.x);
    if (within(scene.rails, head.x) && head.off < track.headWidthMm / 2)
      return rusty || within(scene.headRust ?? [], head.x) ? rust : steel;
    const pins = scene.rails.map(([start]): Stretch => [start - scene.pinMm, start]);
    if (within(pins, head.x) && head.off < track.pinDiameterMm / 2) {
      const [r, g, b] = steel.map((v) => v * (scene.pinShine ?? 1));
      return [r, g, b];
    }
    const foot = at(flangeTop);
    if (within(scene.ties, foot.x) && Math.abs(foot.y) < outer + 8) return tie;
    const lit = scene.rails.map(([, end]): Stretch => [end - (scene.litTipMm ?? 0), end]);
    if (within(scene.rails, foot.x) && !within(lit, foot.x) && foot.off < (track.flangeWidthMm ?? 8) / 2)
      return rusty ? rust : flange;
    const shadows = scene.rails.map(([start]): Stretch => [start - (scene.pinShadowMm ?? 0), start]);
    const ground = at(0);
    const isDark = within(shadows, ground.x) && ground.off < (track.flangeWidthMm ?? 8) / 2;
    const shade = isDark ? pinShade : within(scene.rails, ground.x) ? (scene.shade ?? 1) : 1;
    const onSheet = scene.sheet && within([scene.sheet.along], ground.x) && ground.y > -scene.sheet.rightMm;
    const [r, g, b] = onSheet ? paper : scene.table;
    return [r * shade, g * shade, b * shade];
  };
  for (let y = 0; y < heightPx; y++)
    for (let x = 0; x < widthPx; x++) {
      const colour = colourOf(x, y);
      for (let c = 0; c < 3; c++)
        data[(y * widthPx + x) * 3 + c] = Math.max(0, Math.min(255, colour[c] + 6 * (random() + random() - 1)));
    }
  return { widthPx, heightPx, channels: 3, data };
}
