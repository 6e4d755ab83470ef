/**
 * A phone's camera over a table. x_camera = R · x_table + t; pinhole with k1, k2, p1, p2 in the order and meaning of
 * OpenCV's documentation; pixel centres at integers of the upright picture.
 */

const FILM_DIAGONAL_MM = 43.267;
const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const scaled = (a, k) => a.map((v) => v * k);
const unit = (a) => scaled(a, 1 / Math.sqrt(dot(a, a)));

/**
 * Places a camera so that all `keep` points (mm) fall at least `margin` of the picture's size from its border.
 * @param view headingDeg: the table direction that points right in the picture; tiltDeg off the vertical; leanDeg turns
 *   the direction of the tilt, rollDeg the picture; shift moves the picture's middle, as a share of its size.
 */
export function cameraOver(lens, view, keep) {
  const turn = (view.headingDeg * Math.PI) / 180;
  const tilt = (view.tiltDeg * Math.PI) / 180;
  const away = turn + Math.PI / 2 + ((view.leanDeg ?? 0) * Math.PI) / 180;
  const forward = [Math.sin(tilt) * Math.cos(away), Math.sin(tilt) * Math.sin(away), -Math.cos(tilt)];
  const roll = turn + ((view.rollDeg ?? 0) * Math.PI) / 180;
  const flat = [Math.cos(roll), Math.sin(roll), 0];
  const right = unit(flat.map((v, i) => v - forward[i] * dot(flat, forward)));
  const rotation = [right, cross(forward, right), forward];
  const margin = view.margin ?? 0.03;
  let target = [0, 1, 2].map((i) => keep.reduce((sum, p) => sum + p[i], 0) / keep.length);
  let distance = 1800;
  let camera;
  for (let round = 0; round < 120; round++) {
    const position = target.map((v, i) => v - forward[i] * distance);
    camera = new SceneCamera(lens, rotation, position);
    const seen = keep.map((p) => camera.project(p));
    const [xs, ys] = [0, 1].map((i) => seen.map((p) => p[i]));
    const spread = [xs, ys].map((v) => (Math.max(...v) - Math.min(...v)) / 2);
    const middle = [xs, ys].map((v) => (Math.max(...v) + Math.min(...v)) / 2);
    const room = [lens.width, lens.height].map((v) => v * (0.5 - margin));
    const grow = Math.max(spread[0] / room[0], spread[1] / room[1]);
    const shift = view.shift ?? [0, 0];
    const off = [middle[0] - lens.width * (0.5 + shift[0]), middle[1] - lens.height * (0.5 + shift[1])];
    const mm = distance / camera.fx;
    target = target.map((v, i) => v + 0.45 * mm * (off[0] * rotation[0][i] + off[1] * rotation[1][i]));
    distance *= 1 + 0.5 * (grow - 1);
  }
  return camera;
}

export class SceneCamera {
  /** @param lens width, height, f35, cx, cy, k1, k2, p1, p2 */
  constructor(lens, rotation, position) {
    Object.assign(this, lens);
    this.fx = (lens.f35 * Math.hypot(lens.width, lens.height)) / FILM_DIAGONAL_MM;
    this.rotation = rotation;
    this.position = position;
    this.translation = rotation.map((row) => -dot(row, position));
    this.direction = [0, 0, 0];
  }

  /** Photo position of a table point, px. */
  project(p) {
    const [x, y, z] = this.rotation.map((row, i) => dot(row, p) + this.translation[i]);
    const [dx, dy] = this.#bend(x / z, y / z);
    return [this.cx + this.fx * dx, this.cy + this.fx * dy];
  }

  depth(p) {
    return dot(this.rotation[2], p) + this.translation[2];
  }

  inFrame(px) {
    return px[0] >= -0.5 && px[1] >= -0.5 && px[0] <= this.width - 0.5 && px[1] <= this.height - 0.5;
  }

  #bend(x, y) {
    const r2 = x * x + y * y;
    const m = 1 + r2 * (this.k1 + r2 * this.k2);
    return [
      x * m + 2 * this.p1 * x * y + this.p2 * (r2 + 2 * x * x),
      y * m + this.p1 * (r2 + 2 * y * y) + 2 * this.p2 * x * y,
    ];
  }

  /** Straightened, normalized picture position of a pixel into `out` (fixed point iteration). */
  straighten(px, py, out) {
    const gx = (px - this.cx) / this.fx;
    const gy = (py - this.cy) / this.fx;
    let x = gx;
    let y = gy;
    for (let k = 0; k < 9; k++) {
      const r2 = x * x + y * y;
      const m = 1 + r2 * (this.k1 + r2 * this.k2);
      const tx = 2 * this.p1 * x * y + this.p2 * (r2 + 2 * x * x);
      const ty = this.p1 * (r2 + 2 * y * y) + 2 * this.p2 * x * y;
      x = (gx - tx) / m;
      y = (gy - ty) / m;
    }
    out[0] = x;
    out[1] = y;
  }

  /** Unit direction in the table frame of a straightened position, into `direction`. */
  aim(x, y) {
    const n = 1 / Math.sqrt(x * x + y * y + 1);
    const r = this.rotation;
    const d = this.direction;
    for (let i = 0; i < 3; i++) d[i] = (r[0][i] * x + r[1][i] * y + r[2][i]) * n;
  }
}
