import { placeOn } from './track-layout.mjs';

/**
 * Places where two tracks run side by side: centre rail to centre rail, at most 200 mm apart and 5° off parallel, seen
 * square from the start, middle and end of each section.
 */
export function neighbours(chains, railTop) {
  const found = [];
  const sections = chains.flatMap((c) => c.sections);
  for (const section of sections)
    for (const [at, share] of [
      ['start', 0],
      ['middle', 0.5],
      ['end', 1],
    ]) {
      const from = placeOn(section, share * section.length);
      for (const other of sections) {
        if (other.chain === section.chain) continue;
        const hit = squareFrom(from, other);
        if (hit === null || hit.spacing > 200) continue;
        const place = (p) => [Number(p.x.toFixed(5)), Number(p.y.toFixed(5)), railTop];
        found.push({
          section: section.id,
          at,
          other: other.id,
          spacing: Number(hit.spacing.toFixed(5)),
          point: place(from),
          other_point: place(hit.place),
        });
      }
    }
  return found;
}

/** Where the line square to `from` meets the other section's centre rail. */
function squareFrom(from, other) {
  const forward = (p) => (p.x - from.x) * Math.cos(from.heading) + (p.y - from.y) * Math.sin(from.heading);
  let [low, high] = [0, other.length];
  let [a, b] = [forward(placeOn(other, low)), forward(placeOn(other, high))];
  if (a * b > 0) return null;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    const m = forward(placeOn(other, middle));
    if (m * a > 0) [low, a] = [middle, m];
    else [high, b] = [middle, m];
  }
  const place = placeOn(other, (low + high) / 2);
  const off = Math.abs(Math.sin(place.heading - from.heading));
  if (off > Math.sin((5 * Math.PI) / 180)) return null;
  return { place, spacing: Math.hypot(place.x - from.x, place.y - from.y) };
}
