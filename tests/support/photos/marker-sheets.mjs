import { createRequire } from 'node:module';
import { AprilTagFamily } from 'apriltag';
import { hashAt } from './noise.mjs';

/** Width and height of the papers that the sheets are printed on, mm (ISO 216). */
const papers = { A4: [210, 297], A5: [148, 210], A6: [105, 148] };
const PAPER_HEIGHT = 0.12;
const MODULES = 8;

let family;

/**
 * A printed sheet: the black square's middle is its origin, x right and y up as printed. A lifted sheet is flat up to
 * `from` mm along the direction `towardDeg` (in its own axes) and then bent upwards with the radius `bend`.
 */
export class MarkerSheet {
  constructor({ id, side, x, y, turnDeg, paper, lifted = null }) {
    family ??= new AprilTagFamily(createRequire(import.meta.url)('apriltag/families/36h11.json'));
    this.modules = family
      .render(id)
      .slice(1, 1 + MODULES)
      .map((row) => row.slice(1, 1 + MODULES));
    this.id = id;
    this.side = side;
    this.paper = paper;
    this.z = PAPER_HEIGHT;
    this.turn = (turnDeg * Math.PI) / 180;
    this.x = x;
    this.y = y;
    this.cos = Math.cos(this.turn);
    this.sin = Math.sin(this.turn);
    const [w, h] = papers[paper];
    this.left = -w / 2;
    this.right = w / 2;
    this.top = side / 2 + Math.min((w - side) / 2, 30);
    this.bottom = this.top - h;
    const barHalf = w > 120 ? 50 : 25;
    const room = -side / 2 - this.bottom;
    this.bar = room < 14 ? null : { half: barHalf, y: -side / 2 - Math.min(20, room * 0.4) };
    this.radius = Math.hypot(w, h);
    this.lifted = lifted;
    this.liftX = lifted === null ? 0 : Math.cos((lifted.towardDeg * Math.PI) / 180);
    this.liftY = lifted === null ? 0 : Math.sin((lifted.towardDeg * Math.PI) / 180);
    /** Where `meet` met the paper: distance along the ray, and the paper's normal. */
    this.t = 0;
    this.normal = [0, 0, 1];
  }

  /** Table place of a place on the paper, with its height. */
  toTable(u, v) {
    let z = this.z;
    if (this.lifted !== null) {
      const { from, bend } = this.lifted;
      const arc = u * this.liftX + v * this.liftY - from;
      if (arc > 0) {
        const back = arc - bend * Math.sin(arc / bend);
        u -= back * this.liftX;
        v -= back * this.liftY;
        z += bend * (1 - Math.cos(arc / bend));
      }
    }
    return [this.x + u * this.cos - v * this.sin, this.y + u * this.sin + v * this.cos, z];
  }

  /** What a ray from above meets: -1 nothing, 0 ink, 1 paper. */
  meet(ox, oy, oz, dx, dy, dz) {
    let z = this.z;
    let u = 0;
    let v = 0;
    let beyond = 0;
    const rounds = this.lifted === null ? 1 : 16;
    for (let i = 0; i < rounds; i++) {
      this.t = (z - oz) / dz;
      const x = ox + this.t * dx - this.x;
      const y = oy + this.t * dy - this.y;
      u = x * this.cos + y * this.sin;
      v = y * this.cos - x * this.sin;
      if (this.lifted === null) break;
      beyond = u * this.liftX + v * this.liftY - this.lifted.from;
      if (beyond >= this.lifted.bend) return -1;
      z = this.z + (beyond > 0 ? this.lifted.bend - Math.sqrt(this.lifted.bend ** 2 - beyond ** 2) : 0);
    }
    this.normal[0] = 0;
    this.normal[1] = 0;
    this.normal[2] = 1;
    if (beyond > 0) {
      const slope = beyond / this.lifted.bend;
      const more = this.lifted.bend * Math.asin(slope) - beyond;
      u += more * this.liftX;
      v += more * this.liftY;
      this.normal[0] = -slope * (this.liftX * this.cos - this.liftY * this.sin);
      this.normal[1] = -slope * (this.liftX * this.sin + this.liftY * this.cos);
      this.normal[2] = Math.sqrt(1 - slope * slope);
    }
    return this.#inkOn(u, v);
  }

  #inkOn(u, v) {
    if (u < this.left || u > this.right || v > this.top || v < this.bottom) return -1;
    const h = this.side / 2;
    if (u > -h && u < h && v > -h && v < h) {
      const column = Math.floor(((u + h) / this.side) * MODULES);
      const row = Math.floor(((h - v) / this.side) * MODULES);
      return this.modules[row][column] === 'w' ? 1 : 0;
    }
    return v < -h && this.bar !== null && this.#smallPrint(u, v) ? 0 : 1;
  }

  /** The check bar with end strokes, and below it a line of made-up characters. */
  #smallPrint(u, v) {
    const { half, y } = this.bar;
    if (Math.abs(u) < half + 0.2 && Math.abs(v - y) < 0.2) return true;
    if (Math.abs(Math.abs(u) - half) < 0.2 && Math.abs(v - y) < 2.5) return true;
    const line = y - 9;
    if (v > line || v < line - 3.5 || Math.abs(u) > half * 0.8) return false;
    const column = Math.floor((u + half) / 0.5);
    if (column % 5 === 4) return false;
    return hashAt(column, Math.floor((line - v) / 0.5), this.id) < 0.45;
  }
}
