import type { PlacedTag, TagScene } from './render-tags.js';
import { seededRandom } from './seeded-random.js';

export interface SceneRanges {
  readonly widthPx: number;
  readonly heightPx: number;
  readonly sidesPx: readonly [number, number];
  readonly mostTiltRad: number;
  readonly blurPx: readonly [number, number];
  readonly noiseCodes: readonly [number, number];
  /** Shares of scenes with a shadow, and with clipped paper. */
  readonly shadows: number;
  readonly clipped: number;
  readonly borderModules?: 1 | 2;
  /** Linear light of white paper where it is not clipped; 0.35 to 1.05 when left out. */
  readonly exposure?: readonly [number, number];
}

/** A scene drawn at random from ranges; tags do not overlap and lie wholly inside, paper and all. */
export function randomTagScene(seed: number, ranges: SceneRanges): TagScene {
  const random = seededRandom(seed * 7919 + 17);
  const between = ([low, high]: readonly [number, number]) => low + (high - low) * random();
  const { widthPx: w, heightPx: h } = ranges;
  const tags: PlacedTag[] = [];
  for (let attempt = 0; attempt < 40 && tags.length < 6; attempt++) {
    const [low, high] = ranges.sidesPx;
    const sidePx = low * (high / low) ** random();
    const reach = sidePx * 1.15;
    if (2 * reach >= Math.min(w, h)) continue;
    const [x, y] = [reach + (w - 2 * reach) * random(), reach + (h - 2 * reach) * random()];
    if (tags.some((t) => Math.hypot(t.x - x, t.y - y) < reach + t.sidePx * 1.15)) continue;
    tags.push({
      id: Math.floor(587 * random()),
      x,
      y,
      sidePx,
      turnRad: 2 * Math.PI * random(),
      tiltRad: ranges.mostTiltRad * Math.sqrt(random()),
      tiltTurnRad: 2 * Math.PI * random(),
      borderModules: ranges.borderModules ?? 1,
      quietModules: 1 + random(),
    });
  }
  const target = tags[Math.floor(random() * tags.length)];
  const shadow =
    random() < ranges.shadows
      ? { x: target.x, y: target.y, angleRad: 2 * Math.PI * random(), share: between([0.2, 0.5]) }
      : null;
  return {
    widthPx: w,
    heightPx: h,
    seed,
    tags,
    blurPx: between(ranges.blurPx),
    noiseCodes: between(ranges.noiseCodes),
    exposure: random() < ranges.clipped ? between([1.2, 1.8]) : between(ranges.exposure ?? [0.35, 1.05]),
    lightFall: between([0.3, 1]),
    shadow,
    k1: between([-0.08, 0.03]),
    background: (['plain', 'grain', 'clutter', 'white'] as const)[Math.floor(4 * random())],
    jpegQuality: Math.round(between([80, 96])),
  };
}
