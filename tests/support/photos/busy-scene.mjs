import { seededNumbers } from './noise.mjs';
import { randomScene } from './random-scene.mjs';
import { buildScene } from './scene-catalogue.mjs';
import { placeOn } from './track-layout.mjs';

/** A scene drawn from a number, with what lies about on a table at work and on the floor beside it. */
export function busyScene(number) {
  const drawn = randomScene(number);
  const description = { ...drawn, id: `B${number}` };
  const random = seededNumbers(number * 131 + 17);
  const { scene } = buildScene(description);
  const room = new Room(description, scene, random);
  const things = [
    ...onTable(room, random),
    ...overTheEdge(room, random),
    ...onFloor(description.table, scene.floorZ, random),
  ];
  return { ...description, things: [...description.things, ...things] };
}

/** Where there is room on the table beside track, sheets and things. */
class Room {
  constructor({ table, markers, things }, scene, random) {
    this.table = table;
    this.random = random;
    this.taken = scene.chains
      .flatMap((chain) => chain.sections)
      .flatMap((section) =>
        Array.from({ length: Math.ceil(section.length / 15) + 1 }, (_, i) => ({
          ...placeOn(section, Math.min(section.length, 15 * i)),
          r: 28,
        })),
      );
    for (const m of markers) this.taken.push({ x: m.x, y: m.y, r: m.side });
    for (const t of things)
      if (t.what !== 'wagon') this.taken.push({ x: t.x, y: t.y, r: ['driver', 'pencil'].includes(t.what) ? 190 : 80 });
  }

  isFree(x, y, r) {
    return this.taken.every((t) => Math.hypot(t.x - x, t.y - y) > t.r + r);
  }

  take(x, y, r) {
    this.taken.push({ x, y, r });
  }

  /** A stretch of so much length and half width, mostly along a side; null where none was found. */
  strip(length, half) {
    const { random, table } = this;
    for (let attempt = 0; attempt < 400; attempt++) {
      const along = random.next() < 0.7;
      const turn = along ? random.pick([0, Math.PI / 2]) + random.between(-0.02, 0.02) : random.between(0, 2 * Math.PI);
      const [x, y] = [random.between(20, table.length - 20), random.between(20, table.width - 20)];
      const places = Array.from({ length: Math.ceil(length / 20) + 1 }, (_, i) => {
        const d = Math.min(length, 20 * i) - length / 2;
        return { x: x + d * Math.cos(turn), y: y + d * Math.sin(turn) };
      });
      const inside = (p) =>
        p.x > half &&
        p.y > half &&
        p.x < table.length - half &&
        p.y < table.width - half &&
        this.isFree(p.x, p.y, half);
      if (!places.every(inside)) continue;
      for (const p of places) this.take(p.x, p.y, half);
      return { x, y, turn };
    }
    return null;
  }
}

const steelTape = [0.6, 0.42, 0.02];
const batten = [0.5, 0.38, 0.22];
const paper = [0.75, 0.75, 0.73];
const black = [0.03, 0.03, 0.035];
const clampRed = [0.35, 0.03, 0.02];
const cardboard = [0.42, 0.28, 0.14];

/** Rules, the blade of a tape, battens that lie like rails, a plan on paper, wires, a power pack with its cable. */
function onTable(room, random) {
  const { table } = room;
  const things = [];
  const lay = (share, length, half, thing) => {
    const place = random.next() < share ? room.strip(length, half) : null;
    if (place) things.push({ ...thing, ...place });
    return place;
  };
  lay(0.6, 600, 18, { what: 'rule', length: 600 });
  lay(0.6, 300, 16, { what: 'rule', length: 300 });
  const bladeMm = random.between(500, 1100);
  lay(0.6, bladeMm, 14, { what: 'carton', length: bladeMm, width: 19, height: 2, colour: steelTape });
  const battenMm = random.between(300, 700);
  const wood = { what: 'carton', length: battenMm, width: 9, height: 9, colour: batten };
  const first = lay(0.5, battenMm, 24, wood);
  if (first && random.next() < 0.5)
    things.push({ ...wood, ...first, x: first.x - 18 * Math.sin(first.turn), y: first.y + 18 * Math.cos(first.turn) });
  lay(0.5, 300, 115, { what: 'carton', length: 297, width: 210, height: 0.15, colour: paper });
  for (const colour of [clampRed, black]) {
    const points = random.next() < 0.7 ? wirePoints(table, random) : [];
    // A wire may lie under the track, but not on a sheet.
    const clear = ([x, y]) => room.taken.every((t) => t.r < 60 || Math.hypot(t.x - x, t.y - y) > t.r);
    if (points.length > 1 && points.every(clear)) things.push({ what: 'wire', points, colour, r: 1.3 });
  }
  const pack = lay(0.5, 160, 75, { what: 'carton', length: 150, width: 110, height: 80, colour: black });
  if (pack) {
    const out = pack.y < table.width / 2 ? -6 : table.width + 6;
    const points = [
      [pack.x, pack.y],
      [pack.x + random.between(-80, 80), (pack.y + out) / 2],
      [pack.x + random.between(-150, 150), out],
    ];
    things.push({ what: 'wire', points, colour: black, r: 3.2 });
  }
  return things;
}

function wirePoints(table, random) {
  let [x, y] = [random.between(100, table.length - 100), random.between(100, table.width - 100)];
  let heading = random.between(0, 2 * Math.PI);
  const points = [[x, y]];
  for (let left = random.between(10, 30); left > 0; left--) {
    heading += random.between(-0.5, 0.5);
    x += 35 * Math.cos(heading);
    y += 35 * Math.sin(heading);
    points.push([x, y]);
  }
  return points.filter(([px, py]) => px > -5 && py > -5 && px < table.length + 5 && py < table.width + 5);
}

/** Clamps at the table's edge, and a sheet of paper that hangs over it. */
function overTheEdge(room, random) {
  const { length, width } = room.table;
  const things = [];
  for (let i = 0; i < 3; i++) {
    if (random.next() > 0.5) continue;
    const share = random.between(0.1, 0.9);
    const place = random.pick([
      { x: share * length, y: 8, turn: Math.PI / 2 },
      { x: length - 8, y: share * width, turn: 0 },
      { x: share * length, y: width - 8, turn: Math.PI / 2 },
      { x: 8, y: share * width, turn: 0 },
    ]);
    if (!room.isFree(place.x, place.y, 40)) continue;
    things.push({ what: 'carton', ...place, length: 70, width: 22, height: 14, colour: clampRed });
    room.take(place.x, place.y, 45);
  }
  const sheet = { x: random.between(0.2, 0.8) * length, y: random.pick([0, width]), turn: random.between(-0.2, 0.2) };
  if (random.next() < 0.3 && room.isFree(sheet.x, sheet.y, 180))
    things.push({ what: 'carton', ...sheet, length: 297, width: 150, height: 0.15, colour: paper });
  return things;
}

/** A carton along the table, a stool, and a rug whose edge runs along the table's. */
function onFloor(table, floorZ, random) {
  const things = [];
  const beside = (from, to, half) => {
    const away = random.between(from, to) + half;
    return random.next() < 0.5 ? -away : table.width + away;
  };
  if (random.next() < 0.5)
    things.push({
      what: 'carton',
      x: random.between(0.2, 0.8) * table.length,
      y: beside(60, 300, 150),
      z: floorZ,
      turn: random.between(-0.03, 0.03),
      length: random.between(400, 900),
      width: 300,
      height: random.between(200, 680),
      colour: cardboard,
    });
  if (random.next() < 0.4) {
    const away = random.between(250, 400);
    const x = random.next() < 0.5 ? -away : table.length + away;
    things.push({ what: 'stool', x, y: random.between(0.2, 0.8) * table.width, z: floorZ, turn: random.between(0, 3) });
  }
  if (random.next() < 0.4)
    things.push({
      what: 'carton',
      x: table.length / 2,
      y: beside(20, 250, 400),
      z: floorZ,
      turn: random.between(-0.02, 0.02),
      length: 1.4 * table.length,
      width: 800,
      height: 12,
      colour: [random.between(0.05, 0.25), random.between(0.03, 0.18), 0.12],
    });
  return things;
}
