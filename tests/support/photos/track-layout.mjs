/** Track laid on a table: sections with true places, joints with true gaps. Millimetres, radians, headings ccw from +x. */

/** Cross-sections; `headOffset` and `faceOffset` are of the outer rails' heads. */
export const profiles = {
  tall: {
    name: 'tall',
    railTop: 17.5,
    headWidth: 4.6,
    headOffset: 18.175,
    faceOffset: 20.475,
    flangeWidth: 9,
    flangeTop: 7,
    pinReach: 14,
  },
  low: {
    name: 'low',
    railTop: 11,
    headWidth: 3.8,
    headOffset: 17.775,
    faceOffset: 19.675,
    flangeWidth: 7.4,
    flangeTop: 4,
    pinReach: 12,
  },
};

export const PIN_WIDTH = 2.3;
const degrees = Math.PI / 180;

/** Place on a section: `along` from the start, `aside` to the left of the centre rail. */
export function placeOn(section, along, aside = 0) {
  const { x, y, heading } = section.start;
  if (section.kind === 'straight') {
    const [c, s] = [Math.cos(heading), Math.sin(heading)];
    return { x: x + along * c - aside * s, y: y + along * s + aside * c, heading };
  }
  const side = Math.sign(section.angle);
  const turn = heading + (side * along) / section.radius;
  const [mx, my] = [x - side * section.radius * Math.sin(heading), y + side * section.radius * Math.cos(heading)];
  const r = side * section.radius - aside;
  return { x: mx + r * Math.sin(turn), y: my - r * Math.cos(turn), heading: turn };
}

function after(end, joint) {
  const middle = end.heading + joint.skew / 2;
  const [c, s] = [Math.cos(middle), Math.sin(middle)];
  return {
    x: end.x + joint.gap * c - joint.lateral * s,
    y: end.y + joint.gap * s + joint.lateral * c,
    heading: end.heading + joint.skew,
  };
}

/** Lays pieces one after the other. @returns sections, and the place where the next one would start */
function lay(start, pieces, joints) {
  let place = start;
  const sections = pieces.map((piece, i) => {
    const section = { ...piece, start: place };
    section.end = placeOn(section, section.length);
    place = joints[i] === undefined ? section.end : after(section.end, joints[i]);
    return section;
  });
  return { sections, next: place };
}

/**
 * Pieces and joints from tokens: a number is a straight, `{ gap }` an open joint before the next piece, `{ cut }` a
 * straight whose length closes the loop, `{ radius, angle }` a curve (degrees, left positive).
 */
function read(tokens, closed, random) {
  const pieces = [];
  const joints = [];
  for (const token of tokens) {
    if (token.gap !== undefined) {
      joints[pieces.length - 1] = { open: true, gap: token.gap };
      continue;
    }
    if (token.radius === undefined) {
      const length = typeof token === 'number' ? token : token.cut;
      pieces.push({ kind: 'straight', length, radius: null, angle: 0, free: typeof token !== 'number' });
    } else {
      const length = token.radius * Math.abs(token.angle) * degrees;
      pieces.push({ kind: 'curve', length, radius: token.radius, angle: token.angle * degrees, free: false });
    }
  }
  const count = closed ? pieces.length : pieces.length - 1;
  for (let i = 0; i < count; i++) {
    const given = joints[i];
    const wide = random.next() < 0.35;
    joints[i] = {
      open: given !== undefined,
      gap: given?.gap ?? (wide ? random.between(0.7, 1.8) : random.between(0.1, 0.7)),
      skew: random.normal() * 0.16 * degrees,
      lateral: random.normal() * (given ? 0.35 : 0.1),
    };
  }
  return { pieces, joints: joints.slice(0, count) };
}

/** Closes a loop by the least change of skews, sideways steps, small gaps and cut lengths. */
function close(start, pieces, joints) {
  const free = [];
  joints.forEach((joint) => {
    if (!joint.open) free.push([joint, 'gap', 0.25]);
    free.push([joint, 'skew', 0.15 * degrees], [joint, 'lateral', 0.08]);
  });
  for (const piece of pieces) if (piece.free) free.push([piece, 'length', 20]);
  const error = () => {
    const { next } = lay(start, pieces, joints);
    const off = next.heading - start.heading;
    return [next.x - start.x, next.y - start.y, 300 * (off - 2 * Math.PI * Math.round(off / (2 * Math.PI)))];
  };
  for (let round = 0; round < 8; round++) {
    const e = error();
    const slopes = free.map(([owner, key, size]) => {
      const step = size * 1e-4;
      owner[key] += step;
      const moved = error().map((v, i) => ((v - e[i]) / step) * size);
      owner[key] -= step;
      return moved;
    });
    const m = [0, 1, 2].map((i) => [0, 1, 2].map((j) => slopes.reduce((sum, s) => sum + s[i] * s[j], 0)));
    const k = solve3(m, e);
    free.forEach(([owner, key, size], i) => {
      owner[key] -= size * (slopes[i][0] * k[0] + slopes[i][1] * k[1] + slopes[i][2] * k[2]);
    });
  }
  return Math.hypot(...error()) < 1e-7;
}

function solve3(m, v) {
  const det = (a) =>
    a[0][0] * (a[1][1] * a[2][2] - a[1][2] * a[2][1]) -
    a[0][1] * (a[1][0] * a[2][2] - a[1][2] * a[2][0]) +
    a[0][2] * (a[1][0] * a[2][1] - a[1][1] * a[2][0]);
  const d = det(m);
  return [0, 1, 2].map((c) => det(m.map((row, i) => row.map((w, j) => (j === c ? v[i] : w)))) / d);
}

const fits = (pieces, joints) =>
  joints.every((j) => j.open || (j.gap >= 0 && j.gap <= 2 && Math.abs(j.lateral) < 0.6)) &&
  joints.every((j) => Math.abs(j.skew) <= 0.6 * degrees) &&
  pieces.every((p) => p.length > 40);

/**
 * A run of track. Loops are drawn again until all closed joints are 0–2 mm and at most 0.6° askew.
 * @param chain id, closed, tokens, start { x, y, heading }
 */
export function layChain(chain, random) {
  for (let attempt = 0; attempt < 400; attempt++) {
    const { pieces, joints } = read(chain.tokens, chain.closed, random);
    if (chain.closed && !close(chain.start, pieces, joints)) continue;
    if (!fits(pieces, joints)) continue;
    const { sections } = lay(chain.start, pieces, joints);
    sections.forEach((s, i) => {
      s.id = chain.id + String(i + 1).padStart(2, '0');
      s.chain = chain.id;
      s.ties = tiesOf(s, random);
    });
    return { id: chain.id, closed: chain.closed, sections, joints };
  }
  throw new Error(`The pieces of chain ${chain.id} do not close.`);
}

function tiesOf(section, random) {
  const ends = 33 + random.between(-3, 3);
  const count = section.length < 95 ? (section.length < 50 ? 1 : 2) : section.length < 180 ? 2 : 3;
  if (count === 1) return [section.length / 2];
  const inset = Math.min(ends, section.length * 0.28);
  return Array.from(
    { length: count },
    (_, i) => inset + ((section.length - 2 * inset) * i) / (count - 1) + random.between(-2.5, 2.5),
  );
}

/** Tokens of curves one after the other, by default of a quarter turn; `turn` 1 to the left, −1 to the right. */
export const corner = (radius, step, turn = 1, count = 90 / step) =>
  Array.from({ length: count }, () => ({ radius, angle: turn * step }));

/** Tokens of a loop with straights on two or four sides: rows are token lists, corners are 90° turns to the left. */
export function loopTokens(rows, radius, step) {
  return rows.flatMap((row) => [...row, ...corner(radius, step)]);
}
