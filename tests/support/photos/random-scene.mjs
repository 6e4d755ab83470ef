import { seededNumbers } from './noise.mjs';
import { buildScene, lamp } from './scene-catalogue.mjs';
import { SceneWorld } from './scene-world.mjs';
import { corner, placeOn } from './track-layout.mjs';
import { truthOf } from './truth-file.mjs';

/** Scenes drawn from a number: table, track, sheets, things, light and camera. The same number gives the same scene. */

const tables = [
  [1830, 1220],
  [2440, 1220],
  [2000, 1000],
  [1700, 900],
];
const stocks = {
  tall: {
    lengths: [254, 127],
    curves: [
      [381, 45],
      [381, 45],
      [520, 30],
    ],
  },
  low: { lengths: [222.25, 111.1], curves: [[320, 45]] },
};
const papers = { 60: 'A6', 80: 'A6', 100: 'A5', 120: 'A5', 150: 'A4' };

/** A description for `buildScene` whose track lies on the table and whose sheets lie clear of it. */
export function randomScene(number) {
  for (let attempt = 0; attempt < 300; attempt++) {
    const random = seededNumbers(number * 1000 + attempt);
    const description = drawn(`R${number}`, number * 1000 + attempt, random);
    const placed = placeTrack(description);
    if (placed !== null && furnish(placed, random)) return placed;
  }
  throw new Error(`No scene was found for ${number}.`);
}

function drawn(id, seed, random) {
  const profile = random.next() < 0.2 ? 'low' : 'tall';
  const [length, width] = random.pick(tables);
  const portrait = random.next() < 0.25;
  const turns = portrait ? [90, -90] : [0, 180];
  const table = { length, width, finish: finish(seed, random), sideColour: [0.35, 0.25, 0.15] };
  const kind = random.pick(['loop', 'loop', 'loop', 'open', 'rows']);
  return {
    id,
    seed,
    profile,
    table,
    phone: portrait ? 'tall' : 'wide',
    orientation: portrait ? random.pick([1, 6]) : random.pick([1, 1, 3]),
    view: {
      headingDeg: random.pick(turns) + random.between(-14, 14),
      tiltDeg: random.between(2, 32),
      leanDeg: random.between(-30, 30),
      rollDeg: random.between(-2, 2),
      margin: random.between(0.025, 0.06),
    },
    chains: chainsOf(kind, profile, table, random),
    markers: [],
    ...light(table, random),
    floor: { kind: random.pick(['concrete', 'boards', 'carpet', 'tiles']), seed: seed + 3 },
    rust: random.next() < 0.2 ? random.between(0.05, 0.22) : 0,
    grain: random.between(0.15, 0.6),
    pinShine: random.between(0.3, 0.9),
    ceiling: Array(3).fill(random.between(0.7, 1.5)),
    things: [],
    develop: {
      exposure: random.between(0.75, 1.15),
      balance: [random.between(0.96, 1.1), 1, random.between(0.82, 1.03)],
      shot: random.between(0.012, 0.035),
      blur: random.between(0.35, 0.75),
      sharpen: random.between(0.2, 0.7),
      contrast: random.between(0.1, 0.4),
      quality: Math.round(random.between(85, 95)),
    },
  };
}

function finish(seed, random) {
  const kind = random.pick(['plywood', 'paint', 'foam', 'laminate', 'grass', 'door', 'boards']);
  const tint = random.between(0.08, 0.55);
  const colour = [0, 1, 2].map(() => tint * random.between(0.5, 1.3));
  return kind === 'paint' || kind === 'foam' ? { kind, seed, colour } : { kind, seed };
}

function light(table, random) {
  const share = random.between(0.35, 0.65);
  const warm = random.between(0.75, 1.05);
  const tone = (k) => [k, k * (0.5 + 0.5 * warm), k * warm];
  const over = lamp(
    random.between(0, table.length),
    random.between(0, table.width),
    random.between(1000, 2000),
    random.between(20, 250),
    tone(share),
  );
  const side = random.pick([-1, 1]);
  const window = {
    at: [random.between(0, table.length), table.width / 2 + side * 2300, random.between(800, 1400)],
    half: [random.between(200, 700), 60, 400],
    colour: tone(share),
  };
  const lights = random.next() < 0.6 ? [over] : [window];
  return { lights, ambient: tone(1 - share - 0.05) };
}

/** A row of stock pieces with open gaps between some, at most `room` long. @returns tokens and their length */
function row(lengths, room, gaps, random) {
  const tokens = [];
  let total = 0;
  for (;;) {
    const piece = random.next() < 0.7 ? lengths[0] : lengths[1];
    if (total + piece > room - 65 * gaps) break;
    tokens.push(piece);
    total += piece;
  }
  for (let k = 0; k < gaps && tokens.length > 1; k++) {
    const gap = random.between(8, 60);
    const at = 1 + Math.floor(random.next() * (tokens.length - 1));
    if (tokens[at].gap !== undefined || tokens[at - 1].gap !== undefined) continue;
    tokens.splice(at, 0, { gap });
    total += gap;
  }
  return { tokens, total };
}

function chainsOf(kind, profile, table, random) {
  const stock = stocks[profile];
  const [radius, step] = random.pick(stock.curves);
  const start = (y) => ({ x: random.between(80, 140), y, headingDeg: random.between(-1.2, 1.2) });
  if (kind === 'rows')
    return [0, 1].map((i) => ({
      id: 'AB'[i],
      closed: false,
      start: start(60 + i * random.between(90, 190) + 30 * random.next()),
      tokens: row(stock.lengths, table.length - 300, 2, random).tokens,
    }));
  if (kind === 'open') {
    const first = row(stock.lengths, table.length - radius - 350, 2, random).tokens;
    const last = row(stock.lengths, table.width - radius - 260, 1, random).tokens;
    return [{ id: 'A', closed: false, start: start(90), tokens: [...first, ...corner(radius, step), ...last] }];
  }
  const room = table.length - 2 * radius - 120;
  const near = row(stock.lengths, room, random.pick([1, 1, 2]), random);
  const far = row(stock.lengths, near.total - 75, random.pick([0, 1, 1]), random);
  const cut = { cut: near.total - far.total };
  const turn = corner(radius, step);
  const tokens = [...near.tokens, ...turn, ...turn, ...far.tokens, cut, ...turn, ...turn];
  return [{ id: 'A', closed: true, start: { x: 0, y: 60, headingDeg: random.between(-1, 1) }, tokens }];
}

/** Moves the runs so that they lie on the table, the nearest side 5 to 70 mm away; null when they do not fit. */
function placeTrack(description) {
  const random = seededNumbers(description.seed + 7);
  try {
    const first = sidesOf(description);
    const spare = Math.max(0, first.x0 + first.xL - 40);
    const dx = 20 + random.next() * spare - first.x0;
    const dy = random.between(5, 70) - first.y0;
    for (const chain of description.chains) {
      chain.start.x += dx;
      chain.start.y += dy;
    }
    return Object.values(sidesOf(description)).every((clearance) => clearance >= 4) ? description : null;
  } catch {
    return null;
  }
}

function sidesOf(description) {
  const { scene, camera } = buildScene(description);
  const sides = truthOf(scene, camera, new SceneWorld(scene)).side_clearances;
  return Object.fromEntries(Object.entries(sides).map(([side, { clearance }]) => [side, clearance]));
}

/** Puts sheets and things where no track is, and perhaps a wagon on it. Tells whether the sheets found room. */
function furnish(description, random) {
  const { scene } = buildScene(description);
  const sections = scene.chains.flatMap((c) => c.sections);
  const taken = sections.flatMap((s) =>
    Array.from({ length: Math.ceil(s.length / 20) + 1 }, (_, i) => ({
      ...placeOn(s, Math.min(s.length, 20 * i)),
      r: 30,
    })),
  );
  const { length, width } = description.table;
  const freePlace = (r) => {
    for (let k = 0; k < 300; k++) {
      const [x, y] = [random.between(r * 0.8, length - r * 0.8), random.between(r * 0.8, width - r * 0.8)];
      if (taken.every((t) => Math.hypot(t.x - x, t.y - y) > t.r + r)) {
        taken.push({ x, y, r });
        return { x, y };
      }
    }
    return null;
  };
  const side = random.pick([60, 80, 100, 120, 120, 120, 150]);
  const count = side === 150 ? 1 : random.pick([1, 2, 2, 3, 4]);
  for (let i = 0; i < count; i++) {
    const place = freePlace(side * 0.95);
    if (place === null) return i > 0;
    const turnDeg = random.between(0, 360);
    description.markers.push({ id: Math.floor(random.next() * 580), side, ...place, turnDeg, paper: papers[side] });
  }
  if (new Set(description.markers.map((m) => m.id)).size !== count) return false;
  for (const what of ['house', 'tree', 'mug', 'driver', 'carton', 'tin', 'pencil']) {
    const place = random.next() < 0.35 ? freePlace(what === 'driver' || what === 'pencil' ? 200 : 90) : null;
    const turn = random.between(0, 6.28);
    if (place !== null) description.things.push({ what, ...place, turn, colour: [0.3 * random.next(), 0.2, 0.1] });
  }
  const straight = sections.filter((s) => s.kind === 'straight' && s.length > 200);
  if (straight.length > 2 && random.next() < 0.5) {
    const s = random.pick(straight);
    const { x, y, heading } = placeOn(s, s.length / 2);
    description.things.push({
      what: 'wagon',
      x,
      y,
      turn: heading,
      z: description.profile === 'low' ? 11 : 17.5,
      length: 170,
    });
  }
  return true;
}
