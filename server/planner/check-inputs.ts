import { type Problem, problem } from '../contract/problems.js';
import type { Report } from '../contract/report.js';
import type { Stock } from '../contract/stock.js';
import type { Wishes } from '../contract/wishes.js';
import { inBoth } from '../units/both-units.js';
import { distance, turn, type Vec } from './plane-vectors.js';
import { insideOutline } from './table-shape.js';

/** What a schema cannot say about a report. @returns the first thing that is wrong, or null */
export function checkReport(report: Report): Problem | null {
  // Where no edge was found there is no outline: gaps can be closed all the same.
  const corners = report.table.outline.length;
  if (corners === 1 || corners === 2) return bad('table.outline', 'a table has at least three corners');
  const { gaugeMm, headWidthMm } = report.track;
  if (!(gaugeMm > 0)) return bad('track.gaugeMm', 'it must be greater than 0');
  if (!(headWidthMm >= 0)) return bad('track.headWidthMm', 'it must not be negative');
  const far = farPlace(report);
  if (far !== null) return bad(far, `no table reaches so far: millimetres are needed, ${farthestMm} at most`);
  for (const [i, joint] of report.joints.entries()) {
    if (joint.open && joint.gap.value < 0) return bad(`joints[${i}].gap`, 'an open gap is not shorter than 0');
  }
  const ids = new Set<string>();
  for (const [i, run] of report.runs.entries()) {
    if (ids.has(run.id)) return bad(`runs[${i}].id`, `two runs are called “${run.id}”`);
    ids.add(run.id);
    for (const [k, piece] of run.pieces.entries()) {
      if (piece.kind === 'straight' && !(piece.length.value > 0)) {
        return bad(`runs[${i}].pieces[${k}].length`, 'a section is longer than 0');
      }
      if (piece.kind === 'curve' && !(piece.radius.value > 0)) {
        return bad(`runs[${i}].pieces[${k}].radius`, 'a radius is greater than 0');
      }
    }
  }
  return null;
}

/** Nothing that is laid on a table is longer, or farther from its corner: a hundred metres. */
const farthestMm = 1e5;

/** The first place or length that no table can hold; numbers so large cannot be planned with either. */
function farPlace(report: Report): string | null {
  const isFar = (...numbers: readonly number[]) => numbers.some((mm) => Math.abs(mm) > farthestMm);
  if (report.table.outline.some((corner) => isFar(...corner))) return 'table.outline';
  const side = report.table.sides.findIndex(({ from, to }) => isFar(...from, ...to));
  if (side >= 0) return `table.sides[${side}]`;
  for (const [i, run] of report.runs.entries()) {
    const far = run.pieces.findIndex((piece) => {
      const { from, to } = piece;
      return isFar(...from, ...to, piece.kind === 'straight' ? piece.length.value : 0);
    });
    if (far >= 0) return `runs[${i}].pieces[${far}]`;
  }
  const joint = report.joints.findIndex(({ at, gap }) => isFar(...at, gap.value));
  return joint < 0 ? null : `joints[${joint}]`;
}

/** What a schema cannot say about wishes: names, ranges along a side, zones. */
export function checkWishes(wishes: Wishes, report: Report): Problem | null {
  return (
    checkClearances(wishes, report) ??
    checkZones(wishes, report) ??
    checkSpacings(wishes, report) ??
    checkPieces('stay', wishes.stay, report) ??
    checkPieces('reversed', wishes.reversed ?? [], report) ??
    checkCar(wishes) ??
    checkFineness(wishes)
  );
}

function checkClearances(wishes: Wishes, report: Report): Problem | null {
  const known = report.table.sides.map((s) => s.name).join(', ');
  for (const [i, wish] of wishes.clearance.entries()) {
    const field = `clearance[${i}]`;
    if (known === '') return bad(`${field}.side`, 'no photo shows an edge of this table');
    const side = report.table.sides.find((s) => s.name === wish.side);
    if (!side) return problem('unknown-side', { field: `${field}.side`, side: wish.side, known });
    const sideMm = distance(side.from, side.to);
    if (wish.fromMm !== undefined && wish.fromMm >= sideMm) {
      return bad(`${field}.fromMm`, `side ${side.name} is only ${inBoth(sideMm, 0)} long`);
    }
    if (wish.toMm !== undefined && wish.toMm <= (wish.fromMm ?? 0)) {
      return bad(`${field}.toMm`, `it must be greater than fromMm (${wish.fromMm ?? 0})`);
    }
  }
  return null;
}

function checkZones(wishes: Wishes, report: Report): Problem | null {
  const outline = report.table.outline;
  if (outline.length === 0) return checkStaysOutside(wishes, report);
  const widest = Math.max(...outline.flatMap((a) => outline.map((b) => distance(a, b))));
  for (const [i, zone] of wishes.keepFree.entries()) {
    const field = `keepFree[${i}]`;
    if (!insideOutline(outline, zone.centre)) return bad(`${field}.centre`, 'that place is not on the table');
    if (zone.widthMm >= widest) return bad(`${field}.widthMm`, 'the zone is wider than the table');
    if (zone.depthMm >= widest) return bad(`${field}.depthMm`, 'the zone is deeper than the table');
    if (zone.marginMm >= widest) return bad(`${field}.marginMm`, 'the margin is wider than the table');
  }
  return checkStaysOutside(wishes, report);
}

function checkStaysOutside(wishes: Wishes, report: Report): Problem | null {
  for (let i = 0; i < wishes.keepFree.length; i++) {
    const stays = pieceInside(wishes, report, i);
    if (!stays) continue;
    return bad(`keepFree[${i}]`, `piece ${stays.piece} of ${stays.run}, which is to stay, lies in that zone`);
  }
  return null;
}

/** A piece that is to stay and whose middle line lies in the zone makes the two wishes contradict each other. */
function pieceInside(wishes: Wishes, report: Report, zoneIndex: number): { run: string; piece: number } | null {
  const zone = wishes.keepFree[zoneIndex];
  const inside = (p: Vec): boolean => {
    const [x, y] = turn([p[0] - zone.centre[0], p[1] - zone.centre[1]], -zone.angleRad);
    return Math.abs(x) < zone.widthMm / 2 && Math.abs(y) < zone.depthMm / 2;
  };
  for (const wish of wishes.stay) {
    const run = report.runs.find((r) => r.id === wish.run);
    for (const index of wish.pieces) {
      const piece = run?.pieces[index];
      if (!piece) continue;
      const steps = 16;
      for (let k = 0; k <= steps; k++) if (inside(pointAt(piece, k / steps))) return { run: wish.run, piece: index };
    }
  }
  return null;
}

function pointAt(piece: Report['runs'][number]['pieces'][number], ratio: number): Vec {
  if (piece.kind === 'straight') {
    return [
      piece.from[0] + (piece.to[0] - piece.from[0]) * ratio,
      piece.from[1] + (piece.to[1] - piece.from[1]) * ratio,
    ];
  }
  const arm = turn([piece.from[0] - piece.centre[0], piece.from[1] - piece.centre[1]], piece.sweepRad * ratio);
  return [piece.centre[0] + arm[0], piece.centre[1] + arm[1]];
}

function checkSpacings(wishes: Wishes, report: Report): Problem | null {
  const known = report.runs.map((r) => r.id).join(', ');
  for (const [i, wish] of wishes.spacing.entries()) {
    for (const [k, run] of wish.runs.entries()) {
      if (report.runs.some((r) => r.id === run)) continue;
      return problem('unknown-run', { field: `spacing[${i}].runs[${k}]`, run, known });
    }
  }
  return null;
}

function checkPieces(field: 'stay' | 'reversed', wishes: Wishes['stay'], report: Report): Problem | null {
  const known = report.runs.map((r) => r.id).join(', ');
  for (const [i, wish] of wishes.entries()) {
    const run = report.runs.find((r) => r.id === wish.run);
    if (!run) return problem('unknown-run', { field: `${field}[${i}].run`, run: wish.run, known });
    for (const [k, piece] of wish.pieces.entries()) {
      if (piece < run.pieces.length) continue;
      const why = `run ${run.id} has pieces 0 to ${run.pieces.length - 1}, not ${piece}`;
      return bad(`${field}[${i}].pieces[${k}]`, why);
    }
  }
  return null;
}

function checkCar(wishes: Wishes): Problem | null {
  if (!wishes.car || wishes.car.truckCentresMm <= wishes.car.lengthMm) return null;
  return bad('car.truckCentresMm', `the truck centres cannot be further apart than the car is long`);
}

/** Nothing is cut or laid finer than this, with any tool: practice, no source. */
const finestMm = 0.05;

function checkFineness(wishes: Wishes): Problem | null {
  for (const field of ['stepMm', 'closingMm'] as const) {
    if (wishes[field] < finestMm) return bad(field, `nothing can be cut or laid finer than ${finestMm} mm`);
  }
  return wishes.stepMm > wishes.shortestFillerMm
    ? bad('stepMm', `a step may not be longer than the shortest filler (${wishes.shortestFillerMm} mm)`)
    : null;
}

/** What a schema cannot say about stock. */
export function checkStock(stock: Stock): Problem | null {
  for (const list of ['straights', 'donors'] as const) {
    const long = stock[list].findIndex((section) => section.lengthMm > farthestMm);
    if (long >= 0) return bad(`${list}[${long}].lengthMm`, `no section is so long: ${farthestMm} mm at most`);
  }
  const ids = new Set<string>();
  for (const [i, donor] of stock.donors.entries()) {
    if (ids.has(donor.id)) return bad(`donors[${i}].id`, `two donors are called “${donor.id}”`);
    ids.add(donor.id);
  }
  return null;
}

function bad(field: string, why: string): Problem {
  return problem('bad-field', { field, why });
}
