import { SceneLight } from './scene-light.mjs';
import { meeting, meetThing } from './things.mjs';

const BLOCK = 32;
const FAR = 1e7;

/** Follows one ray after the other from the camera into the world. After `trace`, `rgb` is the light and `id` what was met. */
export class SceneTracer {
  constructor(scene, world, camera) {
    this.scene = scene;
    this.world = world;
    this.camera = camera;
    this.light = new SceneLight(world);
    this.rgb = this.light.rgb;
    this.straight = [0, 0];
    this.id = 0;
    this.across = Math.ceil(camera.width / BLOCK);
    this.blocks = this.#thingsByBlock();
    this.#met = { nx: 0, ny: 0, nz: 0, part: null, face: 0 };
  }

  #met;

  #thingsByBlock() {
    const { camera, world } = this;
    const down = Math.ceil(camera.height / BLOCK);
    const blocks = Array.from({ length: this.across * down }, () => []);
    for (const thing of world.things) {
      const [x, y] = camera.project(thing.middle);
      const depth = camera.depth(thing.middle);
      if (depth < 100) continue;
      const r = (camera.fx * thing.radius * 1.5) / Math.max(50, depth - thing.radius) + 8;
      const from = (v) => Math.max(0, Math.floor((v - r) / BLOCK));
      for (let j = from(y); j <= Math.min(down - 1, Math.floor((y + r) / BLOCK)); j++)
        for (let i = from(x); i <= Math.min(this.across - 1, Math.floor((x + r) / BLOCK)); i++)
          blocks[j * this.across + i].push(thing);
    }
    return blocks;
  }

  /** @param px, py place in the photo, px; `numbers` gives the sample's chances */
  trace(px, py, numbers) {
    const { camera, world, light } = this;
    camera.straighten(px, py, this.straight);
    camera.aim(this.straight[0], this.straight[1]);
    const [dx, dy, dz] = camera.direction;
    const [ox, oy, oz] = camera.position;
    const limit = this.#meetThings(px, py, ox, oy, oz, dx, dy, dz);
    const toTable = dz < 0 ? -oz / dz : FAR;
    const onTrack = dz < 0 ? this.#meetTrack(ox, oy, oz, dx, dy, dz, toTable, limit) : -1;
    if (onTrack > 0) {
      const [x, y, z] = [ox + onTrack * dx, oy + onTrack * dy, oz + onTrack * dz];
      const which = world.track.hitPart;
      light.trackPart(x, y, z, dx, dy, dz, numbers);
      this.id = (10 + which) * 8 + light.shaded;
    } else if (limit < toTable || (limit < FAR && !this.#overTable(ox + toTable * dx, oy + toTable * dy))) {
      this.#showThing(ox + limit * dx, oy + limit * dy, oz + limit * dz, numbers);
    } else this.#showPlanes(ox, oy, oz, dx, dy, dz, toTable, numbers);
  }

  #overTable(x, y) {
    const { length, width } = this.world.table;
    return x >= 0 && y >= 0 && x <= length && y <= width;
  }

  #meetThings(px, py, ox, oy, oz, dx, dy, dz) {
    const column = Math.max(0, Math.min(this.across - 1, Math.floor(px / BLOCK)));
    const list = this.blocks[Math.max(0, Math.floor(py / BLOCK)) * this.across + column] ?? [];
    let limit = FAR;
    for (const thing of list)
      if (meetThing(thing, ox, oy, oz, dx, dy, dz, limit)) {
        limit = meeting.t;
        Object.assign(this.#met, meeting);
        this.id = 800 + thing.index * 4000 + meeting.part.number * 240 + meeting.face * 8;
      }
    return limit;
  }

  #showThing(x, y, z, numbers) {
    this.light.thing(this.#met, x, y, z, numbers);
    this.id += this.light.shaded;
  }

  #meetTrack(ox, oy, oz, dx, dy, dz, toTable, limit) {
    const { world } = this;
    const from = (world.track.top - oz) / dz;
    const middle = (from + toTable) / 2;
    const list = world.trackAt(ox + middle * dx, oy + middle * dy);
    if (list.length === 0) return -1;
    return world.track.march(list, ox, oy, oz, dx, dy, dz, from, Math.min(toTable - 0.02, limit));
  }

  #showPlanes(ox, oy, oz, dx, dy, dz, toTable, numbers) {
    const { world, light, scene } = this;
    const [x, y] = [ox + toTable * dx, oy + toTable * dy];
    if (toTable < FAR && this.#overTable(x, y)) {
      let ink = -1;
      const cell = world.cellAt(x, y);
      for (const sheet of world.sheetsNear[cell]) {
        ink = sheet.meet(ox, oy, oz, dx, dy, dz);
        if (ink < 0) continue;
        light.paper(ox + sheet.t * dx, oy + sheet.t * dy, oz + sheet.t * dz, sheet.normal, ink, numbers);
        break;
      }
      if (ink < 0) light.table(x, y, dx, dy, dz, numbers);
      this.id = (2 + ink) * 8 + light.shaded;
      return;
    }
    if (this.#showSide(ox, oy, oz, dx, dy, dz, numbers)) return;
    const wall = scene.wall && dy > 0 ? (world.table.width + scene.wall.away - oy) / dy : FAR;
    const floor = dz < 0 ? (scene.floorZ - oz) / dz : FAR;
    const t = Math.min(wall, floor);
    light.floor(ox + t * dx, oy + t * dy, oz + t * dz, wall < floor ? -1 : 0, numbers);
    this.id = (wall < floor ? 6 : 5) * 8 + (wall < floor && oz + t * dz < scene.floorZ + 80 ? 4 : 0);
  }

  #showSide(ox, oy, oz, dx, dy, dz, numbers) {
    const { length, width, thickness } = this.world.table;
    const tries = [
      [dx > 0, -ox / dx, -1, 0],
      [dx < 0, (length - ox) / dx, 1, 0],
      [dy > 0, -oy / dy, 0, -1],
      [dy < 0, (width - oy) / dy, 0, 1],
    ];
    for (const [faces, t, nx, ny] of tries) {
      if (!faces || t < 0) continue;
      const [x, y, z] = [ox + t * dx, oy + t * dy, oz + t * dz];
      const along = nx === 0 ? x >= 0 && x <= length : y >= 0 && y <= width;
      if (!along || z > 0 || z < -thickness) continue;
      this.light.side(x, y, z, nx, ny, numbers);
      this.id = 4 * 8;
      return true;
    }
    return false;
  }
}
