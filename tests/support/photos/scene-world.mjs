import { MarkerSheet } from './marker-sheets.mjs';
import { makeThing, meetThing } from './things.mjs';
import { placeOn, profiles } from './track-layout.mjs';
import { TrackShape } from './track-shape.mjs';

const CELL = 25;
const BORDER = 150;
const NONE = [];

/** Everything that a ray can meet, with a grid over the table that says what is near. */
export class SceneWorld {
  constructor(scene) {
    this.scene = scene;
    this.table = scene.table;
    this.profile = profiles[scene.profile];
    this.sheets = scene.markers.map((m) => new MarkerSheet(m));
    this.things = scene.things.map(makeThing);
    const sections = scene.chains.flatMap((c) => c.sections);
    this.track = new TrackShape(sections, this.profile);
    this.columns = Math.ceil((this.table.length + 2 * BORDER) / CELL);
    this.rows = Math.ceil((this.table.width + 2 * BORDER) / CELL);
    const grid = () => new Array(this.columns * this.rows).fill(NONE);
    this.trackNear = grid();
    this.sheetsNear = grid();
    this.thingsNear = grid();
    this.shadersNear = scene.lights.map(grid);
    this.#placeTrack(sections);
    this.#placeSheets();
    this.#placeThings();
  }

  /** Number of the grid cell at a table place; -1 outside. */
  cellAt(x, y) {
    const i = Math.floor((x + BORDER) / CELL);
    const j = Math.floor((y + BORDER) / CELL);
    return i < 0 || j < 0 || i >= this.columns || j >= this.rows ? -1 : j * this.columns + i;
  }

  trackAt(x, y) {
    const cell = this.cellAt(x, y);
    return cell < 0 ? NONE : this.trackNear[cell];
  }

  /** Name of a thing between a place and the camera, or null. */
  hiddenBy(p, position) {
    const d = position.map((v, i) => v - p[i]);
    const size = Math.hypot(...d);
    for (const thing of this.things)
      if (meetThing(thing, p[0], p[1], p[2], d[0] / size, d[1] / size, d[2] / size, size)) return thing.name;
    return null;
  }

  /** Whether track lies between a place on the table and the camera. */
  behindTrack(p, position) {
    const d = position.map((v, i) => v - p[i]);
    const size = Math.hypot(...d);
    const [dx, dy, dz] = d.map((v) => v / size);
    const end = (this.track.top - p[2]) / dz;
    const list = this.trackAt(p[0] + (end / 2) * dx, p[1] + (end / 2) * dy);
    return list.length > 0 && this.track.march(list, ...p, dx, dy, dz, 0, end) >= 0;
  }

  #add(list, cell, what) {
    if (list[cell] === NONE) list[cell] = [];
    if (!list[cell].includes(what)) list[cell].push(what);
  }

  #around(x, y, radius, visit) {
    const [i0, i1] = [x - radius, x + radius].map((v) => Math.floor((v + BORDER) / CELL));
    const [j0, j1] = [y - radius, y + radius].map((v) => Math.floor((v + BORDER) / CELL));
    for (let j = Math.max(0, j0); j <= Math.min(this.rows - 1, j1); j++)
      for (let i = Math.max(0, i0); i <= Math.min(this.columns - 1, i1); i++) {
        const [cx, cy] = [(i + 0.5) * CELL - BORDER, (j + 0.5) * CELL - BORDER];
        if (Math.hypot(cx - x, cy - y) <= radius) visit(j * this.columns + i, cx, cy);
      }
  }

  #placeTrack(sections) {
    // Half a tie, half a cell's diagonal, and as far as a ray goes from the middle of its way through the track's height.
    const reach = 28 + 18 + 28 + 6;
    sections.forEach((section, k) => {
      for (let along = 0; along <= section.length + 14; along += 8) {
        const p = placeOn(section, along);
        this.#around(p.x, p.y, reach, (cell) => this.#add(this.trackNear, cell, this.track.shapes[k]));
      }
    });
  }

  #placeSheets() {
    for (const sheet of this.sheets)
      this.#around(sheet.x, sheet.y, sheet.radius + CELL, (cell) => this.#add(this.sheetsNear, cell, sheet));
  }

  #placeThings() {
    for (const thing of this.things) {
      const [x, y, z] = thing.middle;
      this.#around(x, y, thing.radius + 60, (cell) => this.#add(this.thingsNear, cell, thing));
      this.scene.lights.forEach((light, k) => {
        for (let cell = 0; cell < this.columns * this.rows; cell++) {
          const px = ((cell % this.columns) + 0.5) * CELL - BORDER;
          const py = (Math.floor(cell / this.columns) + 0.5) * CELL - BORDER;
          const [dx, dy, dz] = [light.at[0] - px, light.at[1] - py, light.at[2]];
          const size = Math.hypot(dx, dy, dz);
          const along = ((x - px) * dx + (y - py) * dy + z * dz) / size;
          const away = Math.hypot(x - px - (along * dx) / size, y - py - (along * dy) / size, z - (along * dz) / size);
          const spread = (Math.hypot(...light.half) * Math.max(0, along)) / size;
          if (away < thing.radius + 20 + spread) this.#add(this.shadersNear[k], cell, thing);
        }
      });
    }
  }
}
