import { PIN_WIDTH } from './track-layout.mjs';

/** Parts of the track that a ray can meet. */
export const part = { head: 1, flange: 2, web: 3, pin: 4, tie: 5, card: 6 };

const TIE_HALF_LENGTH = 27.8;
const TIE_HALF_WIDTH = 7;
const CLIP_HALF_WIDTH = 3.4;
/** A clip grips the flange's rim from above. */
const CLIP_WIDTH = 2.6;
const WALL = 0.3;
const PIN_SHARE_INSIDE = 5;
/** Distance at which a marching ray counts as arrived, mm. */
const ARRIVED = 0.008;
const MARCHING = 4;

/**
 * The solid track as a distance function in each section's own coordinates (along, aside, height); arcs are surfaces of
 * revolution, so the same cross-section serves both. Rays march through it.
 */
export class TrackShape {
  constructor(sections, profile) {
    this.profile = profile;
    this.top = profile.railTop + 0.05;
    this.r = profile.headWidth / 2;
    this.zHead = profile.railTop - this.r;
    this.tieTop = profile.flangeTop - 1;
    this.shapes = sections.map((s) => localShape(s));
    /** Beyond this distance a lower bound is good enough, mm. */
    this.farEnough = MARCHING;
    this.part = 0;
    this.hitPart = 0;
    this.hitShape = null;
    this.along = 0;
    this.aside = 0;
    this.normal = [0, 0, 0];
  }

  /** Distance from a place to one section; leaves the nearest part in `part`. */
  distanceTo(shape, x, y, z) {
    let along;
    let aside;
    if (shape.radius === 0) {
      const dx = x - shape.x;
      const dy = y - shape.y;
      along = dx * shape.cos + dy * shape.sin;
      aside = dy * shape.cos - dx * shape.sin;
    } else {
      const dx = x - shape.mx;
      const dy = y - shape.my;
      const r = Math.sqrt(dx * dx + dy * dy);
      aside = shape.side * (shape.radius - r);
      // Along the arc at this place's own radius, from the middle of the section: true distances near the end faces.
      const turned = Math.atan2(shape.ux * dy - shape.uy * dx, shape.ux * dx + shape.uy * dy) * shape.side;
      const half = shape.length / shape.radius / 2;
      const beyond = (Math.abs(turned) - half) * r;
      if (beyond > -18) along = turned < 0 ? -beyond : shape.length + beyond;
      else along = shape.length / 2 + turned * shape.radius;
    }
    this.along = along;
    this.aside = aside;
    return this.#crossSection(shape, along, aside, z);
  }

  #crossSection(shape, along, aside, z) {
    const p = this.profile;
    const wide = Math.abs(aside);
    const u = Math.abs(wide > p.headOffset / 2 ? wide - p.headOffset : wide);
    const beyond = Math.max(-along, along - shape.length);
    const away = Math.max(wide - TIE_HALF_LENGTH, beyond - p.pinReach);
    if (away > this.farEnough) return away;
    const dz = z - this.zHead;
    const axis = Math.sqrt(u * u + dz * dz);
    let best = axis - this.r;
    if (beyond > -9) best = Math.max(best, this.r - WALL - axis);
    let which = part.head;
    const web = Math.max(u - WALL, dz, p.flangeTop - z);
    if (web < best) {
      best = web;
      which = part.web;
    }
    const flange = Math.max(u - p.flangeWidth / 2, z - p.flangeTop, p.flangeTop - WALL - z);
    if (flange < best) {
      best = flange;
      which = part.flange;
    }
    best = Math.max(best, beyond);
    if (along > shape.length - PIN_SHARE_INSIDE - 3) {
      const pin = Math.max(
        axis - PIN_WIDTH / 2,
        along - shape.length - p.pinReach,
        shape.length - PIN_SHARE_INSIDE - along,
      );
      if (pin < best) {
        best = pin;
        which = part.pin;
      }
    }
    // Nothing of a tie reaches higher than its clip.
    if (z - p.flangeTop - 1 >= best) {
      this.part = which;
      return best;
    }
    const rim = p.flangeWidth / 2 - CLIP_WIDTH + 0.8;
    for (let i = 0; i < shape.ties.length; i++) {
      const off = Math.abs(along - shape.ties[i]);
      if (off > 60) continue;
      const tie = Math.max(off - TIE_HALF_WIDTH, wide - TIE_HALF_LENGTH, z - this.tieTop);
      if (tie < best) {
        best = tie;
        which = part.tie;
      }
      const clip = Math.max(off - CLIP_HALF_WIDTH, rim - u, u - rim - CLIP_WIDTH, z - p.flangeTop - 0.8);
      if (clip < best) {
        best = clip;
        which = part.tie;
      }
      const card = Math.max(
        Math.abs(along - shape.ties[i] + 1) - 8.2,
        wide - p.flangeWidth / 2 - 1.2,
        z - p.flangeTop + 0.4,
      );
      if (card < best) {
        best = card;
        which = part.card;
      }
    }
    this.part = which;
    return best;
  }

  /** Distance to the nearest section of `list`. */
  distance(list, x, y, z) {
    let best = 1e9;
    for (let i = 0; i < list.length; i++) {
      const d = this.distanceTo(list[i], x, y, z);
      if (d < best) {
        best = d;
        this.hitPart = this.part;
        this.hitShape = list[i];
      }
    }
    return best;
  }

  /** Distance to the nearest section, true as far as `reach`. */
  trueDistance(list, x, y, z, reach) {
    this.farEnough = reach;
    const d = this.distance(list, x, y, z);
    this.farEnough = MARCHING;
    return d;
  }

  /** First meeting of a ray with the sections of `list` between two distances; -1 when there is none. */
  march(list, ox, oy, oz, dx, dy, dz, from, to) {
    let t = from;
    for (let step = 0; step < 70 && t < to; step++) {
      const d = this.distance(list, ox + t * dx, oy + t * dy, oz + t * dz);
      if (d < ARRIVED) return t;
      t += d * 0.95;
    }
    return -1;
  }

  /** Outward normal of the shape met last, into `normal`. */
  findNormal(x, y, z) {
    const e = 0.02;
    const s = this.hitShape;
    const a = this.distanceTo(s, x + e, y - e, z - e);
    const b = this.distanceTo(s, x - e, y - e, z + e);
    const c = this.distanceTo(s, x - e, y + e, z - e);
    const d = this.distanceTo(s, x + e, y + e, z + e);
    const n = this.normal;
    n[0] = a - b - c + d;
    n[1] = -a - b + c + d;
    n[2] = -a + b - c + d;
    const size = Math.sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]) || 1;
    for (let i = 0; i < 3; i++) n[i] /= size;
  }
}

function localShape(section) {
  const { x, y, heading } = section.start;
  const shape = {
    length: section.length,
    radius: 0,
    side: 0,
    x,
    y,
    cos: Math.cos(heading),
    sin: Math.sin(heading),
    mx: 0,
    my: 0,
    ux: 0,
    uy: 0,
    ties: section.ties,
    seed: section.id.charCodeAt(0) * 100 + Number(section.id.slice(1)),
  };
  if (section.radius !== null) {
    const side = Math.sign(section.angle);
    shape.radius = section.radius;
    shape.side = side;
    shape.mx = x - side * section.radius * shape.sin;
    shape.my = y + side * section.radius * shape.cos;
    const middle = heading + section.angle / 2;
    shape.ux = side * Math.sin(middle);
    shape.uy = -side * Math.cos(middle);
  }
  return shape;
}
