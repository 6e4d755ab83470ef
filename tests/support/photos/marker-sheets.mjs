import { createRequire } from 'node:module';
import { AprilTagFamily } from 'apriltag';
import { hashAt } from './noise.mjs';

/** Width and height of the papers that the sheets are printed on, mm (ISO 216). */
const papers = { A4: [210, 297], A5: [148, 210], A6: [105, 148] };
const PAPER_HEIGHT = 0.12;
const MODULES = 8;

let family;

/** A printed sheet: the black square's middle is its origin, x right and y up as printed. */
export class MarkerSheet {
  constructor({ id, side, x, y, turnDeg, paper }) {
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
  }

  toTable(u, v) {
    return [this.x + u * this.cos - v * this.sin, this.y + u * this.sin + v * this.cos];
  }

  /** What is printed at a table place: -1 beyond the paper, 0 ink, 1 paper. */
  inkAt(x, y) {
    const [dx, dy] = [x - this.x, y - this.y];
    const u = dx * this.cos + dy * this.sin;
    const v = -dx * this.sin + dy * this.cos;
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
