import type { Camera } from '../../geometry/camera.js';
import { photoFromTable } from '../../geometry/camera.js';
import type { TablePoint } from '../../geometry/frames.js';

/**
 * A directed line in the table frame: points origin + rho·n + s·d with the outward normal n = (cos theta, sin theta)
 * and the direction d = (−sin theta, cos theta), so that the table lies on its left. Millimetres, radians.
 */
export interface OutlineLine {
  readonly thetaRad: number;
  readonly rhoMm: number;
}

/** A line as the given camera shows it: places along it with the photo normal at each, photo frame. */
export interface LineInPhoto {
  readonly count: number;
  /** Distance along the line, mm. */
  readonly sMm: Float64Array;
  readonly px: Float64Array;
  readonly py: Float64Array;
  /** Unit normal in the photo, outwards. */
  readonly nx: Float64Array;
  readonly ny: Float64Array;
  /** How much photo length a place stands for. */
  readonly lengthPx: Float64Array;
  /** Photo pixels along the normal for a millimetre outwards. */
  readonly pxPerMm: Float64Array;
}

const farthestMm = 6000;

export class LineProjector {
  constructor(
    private readonly camera: Camera,
    /** Of the lines, table frame. */
    readonly origin: TablePoint,
    private readonly widthPx: number,
    private readonly heightPx: number,
  ) {}

  /** Photo position of a place on the line, or null where it lies well outside the picture (the lens model ends). */
  project(line: OutlineLine, sMm: number, outMm: number): { x: number; y: number } | null {
    const c = Math.cos(line.thetaRad);
    const n = Math.sin(line.thetaRad);
    const rho = line.rhoMm + outMm;
    return projectWithin(
      this.camera,
      this.origin.x + rho * c - sMm * n,
      this.origin.y + rho * n + sMm * c,
      this.widthPx,
      this.heightPx,
    );
  }

  /**
   * How far outwards, in photo pixels, the foot of a vertical face of depthMm below the line appears: positive where the
   * camera sees the face, negative where the table hides it.
   */
  faceWidthPx(line: OutlineLine, sMm: number, depthMm: number): number {
    const c = Math.cos(line.thetaRad);
    const n = Math.sin(line.thetaRad);
    const x = this.origin.x + line.rhoMm * c - sMm * n;
    const y = this.origin.y + line.rhoMm * n + sMm * c;
    const top = photoFromTable(this.camera, x, y, 0);
    const out = photoFromTable(this.camera, x + c, y + n, 0);
    const along = photoFromTable(this.camera, x - n, y + c, 0);
    const foot = photoFromTable(this.camera, x, y, -depthMm);
    // Square to the edge in the photo, on the side of the outward direction.
    const tx = along.x - top.x;
    const ty = along.y - top.y;
    const side = tx * (out.y - top.y) - ty * (out.x - top.x) > 0 ? 1 : -1;
    return (side * (tx * (foot.y - top.y) - ty * (foot.x - top.x))) / Math.hypot(tx, ty);
  }

  /** Places about stepPx apart on the part of the line that lies in the picture, `marginPx` from its border. */
  lineInPhoto(line: OutlineLine, stepPx: number, marginPx: number): LineInPhoto {
    const inside = (s: number): { x: number; y: number } | null => {
      const p = this.project(line, s, 0);
      if (!p || p.x < marginPx || p.y < marginPx) return null;
      return p.x > this.widthPx - 1 - marginPx || p.y > this.heightPx - 1 - marginPx ? null : p;
    };
    const coarseMm = 24;
    let from = Number.NaN;
    let to = Number.NaN;
    let lengthPx = 0;
    let last: { x: number; y: number } | null = null;
    for (let s = -farthestMm; s <= farthestMm; s += coarseMm) {
      const p = inside(s);
      if (p) {
        if (Number.isNaN(from)) from = s;
        to = s;
        if (last) lengthPx += Math.hypot(p.x - last.x, p.y - last.y);
      }
      last = p;
    }
    if (!(to > from)) return emptyLine();
    const steps = Math.max(2, Math.round(lengthPx / stepPx));
    const stepMm = (to - from) / steps;
    return this.trace(line, from - coarseMm, to + coarseMm, stepMm, inside);
  }

  private trace(
    line: OutlineLine,
    fromMm: number,
    toMm: number,
    stepMm: number,
    inside: (s: number) => { x: number; y: number } | null,
  ): LineInPhoto {
    const places: number[][] = [];
    for (let s = fromMm; s <= toMm; s += stepMm) {
      const p = inside(s);
      const a = this.project(line, s - stepMm / 2, 0);
      const b = this.project(line, s + stepMm / 2, 0);
      const out = this.project(line, s, 5);
      if (!p || !a || !b || !out) continue;
      const tx = b.x - a.x;
      const ty = b.y - a.y;
      const length = Math.hypot(tx, ty);
      const side = tx * (out.y - p.y) - ty * (out.x - p.x) > 0 ? 1 : -1;
      const nx = (-side * ty) / length;
      const ny = (side * tx) / length;
      places.push([s, p.x, p.y, nx, ny, length, ((out.x - p.x) * nx + (out.y - p.y) * ny) / 5]);
    }
    const column = (k: number): Float64Array => Float64Array.from(places, (p) => p[k]);
    return {
      count: places.length,
      sMm: column(0),
      px: column(1),
      py: column(2),
      nx: column(3),
      ny: column(4),
      lengthPx: column(5),
      pxPerMm: column(6),
    };
  }
}

function emptyLine(): LineInPhoto {
  const none = new Float64Array(0);
  return { count: 0, sMm: none, px: none, py: none, nx: none, ny: none, lengthPx: none, pxPerMm: none };
}

/** Projects a table point at z = 0; null when it lies more than a fifth of the picture outside it. */
export function projectWithin(
  camera: Camera,
  x: number,
  y: number,
  widthPx: number,
  heightPx: number,
): { x: number; y: number } | null {
  const { rotation: r, translation: t } = camera.cameraFromTable;
  const zc = r[6] * x + r[7] * y + t[2];
  if (zc <= 1) return null;
  const { fx, fy, cx, cy } = camera.lens;
  const u = (fx * (r[0] * x + r[1] * y + t[0])) / zc + cx;
  const v = (fy * (r[3] * x + r[4] * y + t[1])) / zc + cy;
  if (u < -0.2 * widthPx || v < -0.2 * heightPx || u > 1.2 * widthPx || v > 1.2 * heightPx) return null;
  return photoFromTable(camera, x, y, 0);
}
