import { hashAt } from './noise.mjs';
import { brightMetal, reflectanceAt } from './surfaces.mjs';
import { meetThing } from './things.mjs';
import { part } from './track-shape.mjs';

const FAR = 1e6;
const INK = 0.055;
const PAPER = [0.82, 0.82, 0.8];
const METAL = [0.66, 0.65, 0.62];
const RUST = [0.16, 0.06, 0.025];
const DARK_TIE = [0.042, 0.035, 0.031];
const CARD = [0.02, 0.019, 0.018];

/**
 * Light that comes from a point to the camera. A light: at [x, y, z] mm, half [hx, hy, hz] its half extent (sampled, so
 * that shadows are soft), colour (irradiance on a level table right below or, for a window, at the table's middle).
 */
export class SceneLight {
  constructor(world) {
    this.world = world;
    this.scene = world.scene;
    this.rgb = [0, 0, 0];
    this.albedo = [0, 0, 0];
    this.irradiance = [0, 0, 0];
    this.shaded = 0;
    const { length, width } = world.table;
    this.reference = this.scene.lights.map(({ at }) => {
      const d = Math.hypot(at[0] - length / 2, at[1] - width / 2, at[2]);
      return (d * d * d) / at[2];
    });
    this.tableTone = [0, 0, 0];
    for (let i = 0; i < 40; i++) {
      reflectanceAt(world.table.finish, hashAt(i, 1, 5) * length, hashAt(i, 2, 5) * width, this.albedo);
      for (let c = 0; c < 3; c++) this.tableTone[c] += this.albedo[c] / 40;
    }
  }

  /** Light that falls on a place with normal n, into `irradiance`; `open` is the share of the sky it sees. */
  #gather(x, y, z, nx, ny, nz, open, numbers, onTable) {
    const e = this.irradiance;
    const { ambient, lights } = this.scene;
    const up = 0.55 + 0.45 * nz;
    for (let c = 0; c < 3; c++) e[c] = ambient[c] * open * up;
    this.shaded = 0;
    for (let k = 0; k < lights.length; k++) {
      const { at, half, colour } = lights[k];
      const dx = at[0] + half[0] * (2 * numbers.next() - 1) - x;
      const dy = at[1] + half[1] * (2 * numbers.next() - 1) - y;
      const dz = at[2] + half[2] * (2 * numbers.next() - 1) - z;
      const size = Math.sqrt(dx * dx + dy * dy + dz * dz);
      const facing = (nx * dx + ny * dy + nz * dz) / size;
      if (facing <= 0) continue;
      if (this.#blocked(k, x, y, z, dx / size, dy / size, dz / size, onTable)) {
        this.shaded |= 1 << k;
        continue;
      }
      const power = (facing * this.reference[k]) / (size * size);
      for (let c = 0; c < 3; c++) e[c] += colour[c] * power;
    }
  }

  #blocked(k, x, y, z, dx, dy, dz, onTable) {
    const { world } = this;
    if (!onTable) return this.#underTable(x, y, z, dx, dy, dz);
    const cell = world.cellAt(x, y);
    if (cell < 0) return false;
    for (const thing of world.shadersNear[k][cell]) if (meetThing(thing, x, y, z, dx, dy, dz, FAR)) return true;
    return z < world.track.top && this.#behindTrack(x, y, z, dx, dy, dz);
  }

  #behindTrack(x, y, z, dx, dy, dz) {
    const { world } = this;
    const end = (world.track.top - z) / dz;
    let from = 0.3;
    while (from < end) {
      const to = Math.min(end, from + 56);
      const middle = (from + to) / 2;
      const list = world.trackAt(x + middle * dx, y + middle * dy);
      if (list.length > 0 && world.track.march(list, x, y, z, dx, dy, dz, from, to) > 0) return true;
      from = to;
    }
    return false;
  }

  #underTable(x, y, z, dx, dy, dz) {
    if (dz <= 0) return false;
    const t = (-9 - z) / dz;
    const [px, py] = [x + t * dx, y + t * dy];
    return t > 0 && px > 0 && py > 0 && px < this.world.table.length && py < this.world.table.width;
  }

  /** Share of the sky over a place near rails: from distances at two heights along the normal. */
  #openness(x, y, z, nx, ny, nz) {
    const list = this.world.trackAt(x, y);
    if (list.length === 0) return 1;
    const { track } = this.world;
    const near = track.trueDistance(list, x + 5 * nx, y + 5 * ny, z + 5 * nz, 5);
    const wide = track.trueDistance(list, x + 14 * nx, y + 14 * ny, z + 14 * nz, 14);
    const a = Math.max(0, 1 - Math.max(0, near) / 5);
    const b = Math.max(0, 1 - Math.max(0, wide) / 14);
    return (1 - 0.45 * a) * (1 - 0.35 * b);
  }

  #underThings(x, y, z) {
    const cell = this.world.cellAt(x, y);
    if (cell < 0) return 1;
    let open = 1;
    for (const thing of this.world.thingsNear[cell]) {
      if (thing.top < 20 || thing.parts[0].kind === 'rod') continue;
      const gap = Math.max(
        0,
        Math.hypot(x - thing.middle[0], y - thing.middle[1], z - thing.middle[2]) - thing.radius * 0.62,
      );
      open *= 1 - 0.4 * Math.exp(-gap / 25);
    }
    return open;
  }

  #diffuse() {
    for (let c = 0; c < 3; c++) this.rgb[c] = this.albedo[c] * this.irradiance[c];
  }

  table(x, y, dx, dy, dz, numbers) {
    const { finish } = this.world.table;
    const open = this.#openness(x, y, 0, 0, 0, 1) * this.#underThings(x, y, 0);
    this.#gather(x, y, 0, 0, 0, 1, open, numbers, true);
    reflectanceAt(finish, x, y, this.albedo);
    this.#diffuse();
    if (finish.gloss) this.#lampGlint(x, y, 0, dx, dy, -dz, finish.gloss, finish.spread ?? 0.05);
  }

  /** A marker sheet. @param ink 0 print, 1 paper */
  paper(x, y, z, normal, ink, numbers) {
    const [nx, ny, nz] = normal;
    const open = this.#openness(x, y, z, nx, ny, nz) * this.#underThings(x, y, z);
    this.#gather(x, y, z, nx, ny, nz, open, numbers, true);
    for (let c = 0; c < 3; c++) this.albedo[c] = ink === 0 ? INK : PAPER[c];
    this.#diffuse();
  }

  /** Mirror image of the lights in a smooth surface: (rx, ry, rz) points away from the surface. */
  #lampGlint(x, y, z, rx, ry, rz, strength, spread) {
    const { lights } = this.scene;
    for (let k = 0; k < lights.length; k++) {
      if (this.shaded & (1 << k)) continue;
      const { at, half, colour } = lights[k];
      let [dx, dy, dz] = [at[0] - x, at[1] - y, at[2] - z];
      const size = Math.sqrt(dx * dx + dy * dy + dz * dz);
      [dx, dy, dz] = [dx / size, dy / size, dz / size];
      const off = 1 - (dx * rx + dy * ry + dz * rz);
      const own = Math.hypot(half[0], half[1], half[2]) / size;
      const wide = spread * spread + own * own * 0.4;
      const lobe = strength * Math.exp(-off / wide) * (0.08 / wide);
      for (let c = 0; c < 3; c++) this.rgb[c] += colour[c] * lobe;
    }
  }

  /** The floor, or the wall behind it. */
  floor(x, y, z, ny, numbers) {
    const { length, width } = this.world.table;
    const away = Math.hypot(Math.max(0, -x, x - length), Math.max(0, -y, y - width));
    this.#gather(x, y, z, 0, ny, ny === 0 ? 1 : 0, 1 - 0.55 * Math.exp(-away / 220), numbers, false);
    if (ny === 0) reflectanceAt(this.scene.floor, x + 5000, y + 5000, this.albedo);
    else {
      const skirting = z < this.scene.floorZ + 80;
      for (let c = 0; c < 3; c++) this.albedo[c] = skirting ? 0.6 : this.scene.wall.colour[c];
    }
    this.#diffuse();
  }

  /** Narrow side of the table top. */
  side(x, y, z, nx, ny, numbers) {
    this.#gather(x + nx, y + ny, z, nx, ny, 0, 0.8, numbers, false);
    const colour = this.scene.table.sideColour;
    const layer = colour.length === 3 ? colour : colour[Math.floor(-z / 3) % colour.length];
    for (let c = 0; c < 3; c++) this.albedo[c] = layer[c];
    this.#diffuse();
  }

  thing(hit, x, y, z, numbers) {
    const { nx, ny, nz } = hit;
    this.#gather(x + 0.2 * nx, y + 0.2 * ny, z + 0.2 * nz, nx, ny, nz, 0.9, numbers, z > 0);
    const { colour } = hit.part;
    for (let c = 0; c < 3; c++) this.albedo[c] = colour[c];
    this.#diffuse();
  }

  /** Rails, pins, ties and cards; the track shape holds what was met. */
  trackPart(x, y, z, dx, dy, dz, numbers) {
    const { track } = this.world;
    const which = track.hitPart;
    const shape = track.hitShape;
    track.findNormal(x, y, z);
    const { along, aside } = track;
    const [nx, ny, nz] = track.normal;
    const open = this.#openness(x + nx, y + ny, z + nz, nx, ny, nz) * this.#underThings(x, y, z);
    this.#gather(x + 0.1 * nx, y + 0.1 * ny, z + 0.1 * nz, nx, ny, nz, open, numbers, true);
    if (which === part.tie || which === part.card) {
      for (let c = 0; c < 3; c++) this.albedo[c] = which === part.card ? CARD[c] : DARK_TIE[c];
      this.#diffuse();
      return;
    }
    const around = which === part.head ? 2 * Math.atan2(z - track.zHead, aside) : aside + z;
    const bright = which === part.pin ? 1 : brightMetal(along, around, shape.seed, this.scene.rust);
    for (let c = 0; c < 3; c++) this.albedo[c] = RUST[c] * (1 - bright) + METAL[c] * 0.2 * bright;
    this.#diffuse();
    // Scratches and dirt, about half a millimetre across.
    const worn = which === part.head ? 0.3 * this.scene.grain : this.scene.grain;
    const seed = shape.seed + which;
    const grain = 1 + worn * (2 * hashAt(Math.floor(along * 1.9), Math.floor((aside + z) * 1.9), seed) - 1);
    const shine = which === part.pin ? this.scene.pinShine : bright * grain;
    if (shine > 0) this.#mirror(x, y, z, dx, dy, dz, nx, ny, nz, shine, numbers);
  }

  /** What worn tinplate mirrors: ceiling, lights, walls, other rails, or the table top. */
  #mirror(x, y, z, dx, dy, dz, nx, ny, nz, bright, numbers) {
    const { roughness: rough, ceiling, ambient } = this.scene;
    const mx = nx + rough * (numbers.next() + numbers.next() + numbers.next() - 1.5);
    const my = ny + rough * (numbers.next() + numbers.next() + numbers.next() - 1.5);
    const mz = nz + rough * (numbers.next() + numbers.next() + numbers.next() - 1.5);
    const k = (2 * (dx * mx + dy * my + dz * mz)) / (mx * mx + my * my + mz * mz);
    const rx = dx - k * mx;
    const ry = dy - k * my;
    const rz = dz - k * mz;
    if (this.#meetsTrack(x + 0.1 * nx, y + 0.1 * ny, z + 0.1 * nz, rx, ry, rz)) {
      for (let c = 0; c < 3; c++) this.rgb[c] += bright * METAL[c] * 0.1 * ambient[c];
    } else if (rz > 0) {
      const [tx, ty] = this.scene.ceilingTilt;
      const sky = (0.2 + 0.8 * rz * rz) * Math.max(0.2, 1 + tx * rx + ty * ry);
      for (let c = 0; c < 3; c++) this.rgb[c] += bright * METAL[c] * sky * ceiling[c];
      this.#lampGlint(x, y, z, rx, ry, rz, bright * 0.9, 0.12 + rough * 0.3);
    } else {
      for (let c = 0; c < 3; c++) this.rgb[c] += bright * METAL[c] * 0.7 * this.tableTone[c] * (ambient[c] + 0.3);
    }
  }

  /** Whether a mirrored ray meets the track again within a few centimetres. */
  #meetsTrack(x, y, z, rx, ry, rz) {
    const { track } = this.world;
    const list = this.world.trackAt(x, y);
    const end = rz > 0 ? (track.top - z) / rz : -z / rz;
    return list.length > 0 && track.march(list, x, y, z, rx, ry, rz, 0.3, Math.min(30, end)) > 0;
  }
}
