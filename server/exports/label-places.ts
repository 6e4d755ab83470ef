/** A rectangle on paper or in a picture, y down. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly w: number;
  readonly h: number;
}

/** Distances tried between a spot and its label, in units of `step`. */
const distances = [1.6, 4.5, 7.5, 11, 15, 20, 27, 35];
const turns = 16;

/**
 * Finds a place for a label near its spot: the first one, above first and then turning to both sides and outwards, that
 * lies in the frame and touches nothing taken. Where all is taken it is the first place inside the frame.
 * @param step how far apart places are tried; 1 mm on paper
 */
export function freePlace(
  at: readonly [number, number],
  w: number,
  h: number,
  taken: readonly Box[],
  frame: Box,
  step = 1,
): Box {
  let fallback: Box | null = null;
  for (const away of distances) {
    for (let turn = 0; turn < turns; turn++) {
      const angle = -Math.PI / 2 + ((turn % 2 === 0 ? turn : -turn - 1) / 2) * ((2 * Math.PI) / turns);
      const cx = at[0] + Math.cos(angle) * (away * step + w / 2);
      const cy = at[1] + Math.sin(angle) * (away * step + h / 2);
      const box = { x: cx - w / 2, y: cy - h / 2, w, h };
      if (!inside(box, frame)) continue;
      fallback ??= box;
      const roomy = { x: box.x - 0.7 * step, y: box.y, w: w + 1.4 * step, h };
      if (!taken.some((t) => overlaps(roomy, t))) return box;
    }
  }
  return fallback ?? held({ x: at[0] + 2 * step, y: at[1] - h / 2, w, h }, frame);
}

function inside(box: Box, frame: Box): boolean {
  return (
    box.x >= frame.x && box.y >= frame.y && box.x + box.w <= frame.x + frame.w && box.y + box.h <= frame.y + frame.h
  );
}

function held(box: Box, frame: Box): Box {
  const x = Math.max(frame.x, Math.min(box.x, frame.x + frame.w - box.w));
  const y = Math.max(frame.y, Math.min(box.y, frame.y + frame.h - box.h));
  return { ...box, x, y };
}

function overlaps(a: Box, b: Box): boolean {
  return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}
