/**
 * Things that stand on the table or the floor, made of convex bodies, balls and rods. Millimetres of the table frame.
 * Each part: kind, colour (linear light), and for bodies planes [nx, ny, nz, d] with n·p <= d inside.
 */

const body = (planes, colour) => ({ kind: 'body', planes, colour });
const ball = (x, y, z, r, colour) => ({ kind: 'ball', x, y, z, r, colour });
const rod = (a, b, r, colour) => ({ kind: 'rod', a, b, r, colour });

/** A box turned about the vertical. */
function box(x, y, z0, z1, halfLength, halfWidth, turn, colour) {
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const side = (nx, ny, half) => [nx, ny, 0, nx * x + ny * y + half];
  return body(
    [
      side(c, s, halfLength),
      side(-c, -s, halfLength),
      side(-s, c, halfWidth),
      side(s, -c, halfWidth),
      [0, 0, 1, z1],
      [0, 0, -1, -z0],
    ],
    colour,
  );
}

/** A prism with many sides: mugs, tins. */
function drum(x, y, z0, z1, r, colour, sides = 20) {
  const planes = Array.from({ length: sides }, (_, i) => {
    const [c, s] = [Math.cos((2 * Math.PI * i) / sides), Math.sin((2 * Math.PI * i) / sides)];
    return [c, s, 0, c * x + s * y + r];
  });
  return body([...planes, [0, 0, 1, z1], [0, 0, -1, -z0]], colour);
}

function gable(x, y, z, halfLength, halfWidth, rise, turn, colour) {
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const k = 1 / Math.hypot(rise, halfWidth);
  const slope = (sign) => {
    const n = [-s * sign * rise * k, c * sign * rise * k, halfWidth * k];
    return [...n, n[0] * x + n[1] * y + n[2] * z + rise * halfWidth * k];
  };
  const end = (sign) => [c * sign, s * sign, 0, sign * (c * x + s * y) + halfLength];
  return body([slope(1), slope(-1), end(1), end(-1), [0, 0, -1, -z]], colour);
}

const makers = {
  wagon: ({ x, y, turn, length = 190, height = 62, z = 17.5, colour = [0.25, 0.06, 0.04], load }) => {
    const parts = [
      box(x, y, z + 1, z + 12, length / 2 - 25, 13, turn, [0.02, 0.02, 0.02]),
      box(x, y, z + 10, z + height, length / 2, 28, turn, colour),
    ];
    if (load) parts.push(box(x, y, z + height, z + height + 4, length / 2 - 5, 23, turn, load));
    return parts;
  },
  house: ({ x, y, turn, length = 110, width = 80, height = 70, colour, roof = [0.08, 0.08, 0.1] }) => [
    box(x, y, 0, 2, length * 0.6, width * 0.6, turn, [0.2, 0.2, 0.18]),
    box(x, y, 0, height, length / 2, width / 2, turn, colour),
    gable(x, y, height, length / 2 + 8, width / 2 + 8, width * 0.42, turn, roof),
    box(x + 20 * Math.cos(turn), y + 20 * Math.sin(turn), height, height + width * 0.5, 8, 8, turn, [0.3, 0.06, 0.04]),
  ],
  carton: ({ x, y, z = 0, turn, length = 80, width = 60, height = 45, colour = [0.42, 0.25, 0.11] }) => [
    box(x, y, z, z + height, length / 2, width / 2, turn, colour),
    box(x, y, z + height, z + height + 0.4, length / 2, width * 0.09, turn, [0.6, 0.5, 0.3]),
  ],
  mug: ({ x, y, colour = [0.5, 0.02, 0.02] }) => [
    drum(x, y, 0, 92, 40, colour),
    drum(x, y, 92, 92.6, 36, [0.03, 0.015, 0.01]),
    rod([x + 40, y, 30], [x + 62, y, 50], 6, colour),
    rod([x + 62, y, 50], [x + 40, y, 72], 6, colour),
  ],
  tin: ({ x, y, r = 34, colour = [0.6, 0.58, 0.52] }) => [
    drum(x, y, 0, 14, r, colour),
    drum(x, y, 14, 14.3, r - 4, [0.7, 0.66, 0.55]),
  ],
  tree: ({ x, y, size = 1 }) => [
    rod([x, y, 0], [x, y, 50 * size], 4 * size, [0.06, 0.03, 0.015]),
    ball(x, y, 62 * size, 24 * size, [0.03, 0.1, 0.015]),
    ball(x + 16 * size, y + 6 * size, 52 * size, 17 * size, [0.04, 0.12, 0.02]),
    ball(x - 12 * size, y - 12 * size, 54 * size, 18 * size, [0.03, 0.11, 0.02]),
  ],
  driver: ({ x, y, turn, colour = [0.02, 0.12, 0.03] }) => {
    const at = (d, z) => [x + d * Math.cos(turn), y + d * Math.sin(turn), z];
    return [rod(at(0, 13), at(85, 13), 13, colour), rod(at(90, 10), at(190, 4), 3, [0.45, 0.45, 0.45])];
  },
  pencil: ({ x, y, turn, colour = [0.75, 0.45, 0.02] }) => [
    rod([x, y, 3.6], [x + 150 * Math.cos(turn), y + 150 * Math.sin(turn), 3.6], 3.5, colour),
  ],
  wire: ({ points, colour = [0.012, 0.012, 0.012], r = 1.1 }) =>
    points.slice(1).map((p, i) => rod([...points[i], r], [...p, r], r, colour)),
  rule: ({ x, y, turn, length = 300 }) => [box(x, y, 0, 1, length / 2, 14, turn, [0.5, 0.5, 0.5])],
  stool: ({ x, y, z, turn }) => [
    box(x, y, z + 420, z + 450, 180, 170, turn, [0.09, 0.035, 0.02]),
    rod([x - 120, y - 120, z], [x - 100, y - 100, z + 430], 16, [0.07, 0.03, 0.02]),
    rod([x + 120, y + 120, z], [x + 100, y + 100, z + 430], 16, [0.07, 0.03, 0.02]),
  ],
};

/** Builds a thing from its description { what, name, … } with a ball around all its parts. */
export function makeThing(description, index) {
  const parts = makers[description.what](description);
  parts.forEach((p, i) => {
    p.number = i;
  });
  const [low, high] = extent(parts);
  const middle = low.map((v, i) => (v + high[i]) / 2);
  const radius = Math.hypot(...low.map((v, i) => high[i] - v)) / 2;
  return { index, name: `${description.what}_${index + 1}`, parts, middle, radius, top: high[2] };
}

function extent(parts) {
  const [low, high] = [
    [1e9, 1e9, 1e9],
    [-1e9, -1e9, -1e9],
  ];
  const add = (p, r) => {
    for (let i = 0; i < 3; i++) {
      low[i] = Math.min(low[i], p[i] - r);
      high[i] = Math.max(high[i], p[i] + r);
    }
  };
  for (const p of parts) {
    if (p.kind === 'ball') add([p.x, p.y, p.z], p.r);
    else if (p.kind === 'rod') {
      add(p.a, p.r);
      add(p.b, p.r);
    } else for (const corner of corners(p.planes)) add(corner, 0);
  }
  return [low, high];
}

/** Corners of a convex body: all meetings of three planes that no other plane cuts off. */
function corners(planes) {
  const found = [];
  for (let i = 0; i < planes.length; i++)
    for (let j = i + 1; j < planes.length; j++)
      for (let k = j + 1; k < planes.length; k++) {
        const [a, b, c] = [planes[i], planes[j], planes[k]];
        const bc = [b[1] * c[2] - b[2] * c[1], b[2] * c[0] - b[0] * c[2], b[0] * c[1] - b[1] * c[0]];
        const det = a[0] * bc[0] + a[1] * bc[1] + a[2] * bc[2];
        if (Math.abs(det) < 1e-9) continue;
        const ca = [c[1] * a[2] - c[2] * a[1], c[2] * a[0] - c[0] * a[2], c[0] * a[1] - c[1] * a[0]];
        const ab = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
        const p = [0, 1, 2].map((q) => (a[3] * bc[q] + b[3] * ca[q] + c[3] * ab[q]) / det);
        if (planes.every((n) => n[0] * p[0] + n[1] * p[1] + n[2] * p[2] <= n[3] + 1e-6)) found.push(p);
      }
  return found;
}

/** What a ray met last: distance, part, outward normal. */
export const meeting = { t: -1, part: null, face: 0, nx: 0, ny: 0, nz: 0 };

/** Nearest meeting of a ray with a thing, nearer than `limit`; writes `meeting` and tells whether there was one. */
export function meetThing(thing, ox, oy, oz, dx, dy, dz, limit) {
  const [mx, my, mz] = thing.middle;
  const [qx, qy, qz] = [mx - ox, my - oy, mz - oz];
  const b = qx * dx + qy * dy + qz * dz;
  if (qx * qx + qy * qy + qz * qz - b * b > thing.radius * thing.radius || b + thing.radius < 0) return false;
  let found = false;
  for (const p of thing.parts) {
    const hit =
      p.kind === 'body'
        ? meetBody(p, ox, oy, oz, dx, dy, dz, limit)
        : p.kind === 'ball'
          ? meetBall(p, p.x, p.y, p.z, ox, oy, oz, dx, dy, dz, limit)
          : meetRod(p, ox, oy, oz, dx, dy, dz, limit);
    if (hit) {
      limit = meeting.t;
      meeting.part = p;
      found = true;
    }
  }
  return found;
}

function meetBody(p, ox, oy, oz, dx, dy, dz, limit) {
  let near = 0;
  let far = limit;
  let face = -1;
  const { planes } = p;
  for (let i = 0; i < planes.length; i++) {
    const n = planes[i];
    const rise = n[0] * dx + n[1] * dy + n[2] * dz;
    const room = n[3] - (n[0] * ox + n[1] * oy + n[2] * oz);
    if (rise === 0) {
      if (room < 0) return false;
    } else {
      const t = room / rise;
      if (rise < 0) {
        if (t > near) {
          near = t;
          face = i;
        }
      } else if (t < far) far = t;
      if (near > far) return false;
    }
  }
  if (face < 0) return false;
  meeting.t = near;
  meeting.face = face;
  [meeting.nx, meeting.ny, meeting.nz] = planes[face];
  return true;
}

function meetBall(p, x, y, z, ox, oy, oz, dx, dy, dz, limit) {
  const [qx, qy, qz] = [ox - x, oy - y, oz - z];
  const b = qx * dx + qy * dy + qz * dz;
  const c = qx * qx + qy * qy + qz * qz - p.r * p.r;
  const d = b * b - c;
  if (d < 0) return false;
  const t = -b - Math.sqrt(d);
  if (t < 1e-3 || t >= limit) return false;
  meeting.t = t;
  meeting.face = 0;
  meeting.nx = (qx + t * dx) / p.r;
  meeting.ny = (qy + t * dy) / p.r;
  meeting.nz = (qz + t * dz) / p.r;
  return true;
}

/** A round rod with half-ball ends. */
function meetRod(p, ox, oy, oz, dx, dy, dz, limit) {
  const [ax, ay, az] = p.a;
  const [bx, by, bz] = [p.b[0] - ax, p.b[1] - ay, p.b[2] - az];
  const [qx, qy, qz] = [ox - ax, oy - ay, oz - az];
  const bb = bx * bx + by * by + bz * bz;
  const bd = bx * dx + by * dy + bz * dz;
  const bq = bx * qx + by * qy + bz * qz;
  const a = bb - bd * bd;
  const h = bb * (qx * dx + qy * dy + qz * dz) - bq * bd;
  const c = bb * (qx * qx + qy * qy + qz * qz) - bq * bq - p.r * p.r * bb;
  const d = h * h - a * c;
  if (d < 0) return false;
  const t = (-h - Math.sqrt(d)) / a;
  const along = bq + t * bd;
  if (along <= 0 || along >= bb) {
    const e = along <= 0 ? p.a : p.b;
    return meetBall(p, e[0], e[1], e[2], ox, oy, oz, dx, dy, dz, limit);
  }
  if (t < 1e-3 || t >= limit) return false;
  const k = along / bb;
  meeting.t = t;
  meeting.face = 0;
  meeting.nx = (qx + t * dx - k * bx) / p.r;
  meeting.ny = (qy + t * dy - k * by) / p.r;
  meeting.nz = (qz + t * dz - k * bz) / p.r;
  return true;
}
