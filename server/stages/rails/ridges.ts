import type { RailLikeness } from './likeness-tiles.js';

/** Places beside a ridge score less than it; as far as this they are looked at, coarse pixels to each side. */
const sidePx = 3;
const sideShare = 0.9;

/** Parts of a ridge no farther apart than this go together, coarse pixels. */
const gapPx = 2;

/**
 * Shorter ridges are chance, coarse pixels: 60 mm. What is averaged along the track draws a single speck out to 33 mm, and
 * 30 mm of rails to 60.
 */
const shortestPx = 23;

/** The pixels y · width + x that score above `least` on ridges of likeness: greatest across the rails, and long along them. */
export function ridgesOf(likeness: RailLikeness, least: number): number[] {
  const { widthPx, heightPx } = likeness;
  const crests = new Set<number>();
  for (const at of likeness.pixelsAbove(least))
    if (isCrest(likeness, at % widthPx, Math.floor(at / widthPx))) crests.add(at);
  const kept: number[] = [];
  for (const start of crests) {
    const ridge = takeRidge(crests, start, widthPx, heightPx);
    if (extentPx(ridge, widthPx) >= shortestPx) for (const at of ridge) kept.push(at);
  }
  return kept;
}

function isCrest(likeness: RailLikeness, x: number, y: number): boolean {
  const angle = (likeness.directionAt(x, y) * Math.PI) / likeness.directionCount;
  const [s, c] = [Math.sin(angle), Math.cos(angle)];
  const most = likeness.scoreAt(x, y) / sideShare;
  for (let k = -sidePx; k <= sidePx; k++) {
    const px = Math.round(x + k * s);
    const py = Math.round(y + k * c);
    if (px < 0 || py < 0 || px >= likeness.widthPx || py >= likeness.heightPx) continue;
    if (likeness.scoreAt(px, py) > most) return false;
  }
  return true;
}

/** Takes the pixels that go together with one out of the set. */
function takeRidge(crests: Set<number>, start: number, widthPx: number, heightPx: number): number[] {
  const ridge = [start];
  crests.delete(start);
  for (const at of ridge) {
    const x = at % widthPx;
    const y = Math.floor(at / widthPx);
    for (let py = Math.max(0, y - gapPx); py <= Math.min(heightPx - 1, y + gapPx); py++)
      for (let px = Math.max(0, x - gapPx); px <= Math.min(widthPx - 1, x + gapPx); px++)
        if (crests.delete(py * widthPx + px)) ridge.push(py * widthPx + px);
  }
  return ridge;
}

function extentPx(pixels: readonly number[], widthPx: number): number {
  let [left, right, top, bottom] = [widthPx, 0, Number.POSITIVE_INFINITY, 0];
  for (const at of pixels) {
    const x = at % widthPx;
    const y = Math.floor(at / widthPx);
    left = Math.min(left, x);
    right = Math.max(right, x);
    top = Math.min(top, y);
    bottom = Math.max(bottom, y);
  }
  return Math.hypot(right - left, bottom - top);
}
