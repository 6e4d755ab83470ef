import type { PlanWithoutAlternatives } from '../../server/contract/plan.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import type { P, Say, Track } from './lay-out-plan.js';

function unmetBy(plan: PlanWithoutAlternatives, wish: string): number {
  return Math.max(0, ...plan.unmet.filter((u) => u.wish === wish).map((u) => u.shortByMm));
}

export function checkClosing(wishes: Wishes, plan: PlanWithoutAlternatives, track: Track, say: Say): void {
  const missMm = Math.hypot(...track.left);
  if (missMm > wishes.closingMm + unmetBy(plan, `closing ${track.run}`) + 0.02)
    say(`${track.run} misses by ${missMm} mm`);
  const said = plan.predicted.closing.find((c) => c.run === track.run);
  if (track.closed && !said) say(`nothing is said about how ${track.run} closes`);
  if (said && Math.hypot(said.dxMm - track.left[0], said.dyMm - track.left[1]) > 0.02) {
    say(`${track.run} is said to miss by ${said.dxMm}, ${said.dyMm}, not ${track.left}`);
  }
}

/** Is nothing of the table's outline between a place and its foot on a side? Track beyond a side overhangs it. */
function faces(outline: readonly (readonly [number, number])[], place: P, edge: P): boolean {
  if (isConvex(outline)) return true;
  const inside = isInside(outline, place);
  const apart = Math.hypot(place[0] - edge[0], place[1] - edge[1]);
  if (!inside && apart > overhangAtMostMm) return false;
  return [0.02, 0.2, 0.4, 0.6, 0.8, 0.98].every((share) => {
    const at: P = [edge[0] + share * (place[0] - edge[0]), edge[1] + share * (place[1] - edge[1])];
    return apart < 0.5 || isInside(outline, at) === inside;
  });
}

const overhangAtMostMm = 150;

function isConvex(outline: readonly (readonly [number, number])[]): boolean {
  const bends = outline.map((a, i) => {
    const b = outline[(i + 1) % outline.length];
    const c = outline[(i + 2) % outline.length];
    return Math.sign((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]));
  });
  return !(bends.includes(1) && bends.includes(-1));
}

function isInside(outline: readonly (readonly [number, number])[], [x, y]: P): boolean {
  let turns = 0;
  outline.forEach((a, i) => {
    const b = outline[(i + 1) % outline.length];
    const from = Math.atan2(a[1] - y, a[0] - x);
    const by = Math.atan2(b[1] - y, b[0] - x) - from;
    turns += by - 2 * Math.PI * Math.round(by / (2 * Math.PI));
  });
  return Math.abs(turns) > Math.PI;
}

/** Clearance of rail faces to a side, counted where the foot is on the range and nothing lies between. */
function clearanceOf(report: Report, tracks: readonly Track[], name: string, fromMm: number, toMm: number): number {
  const side = report.table.sides.find((s) => s.name === name) as Report['table']['sides'][number];
  const length = Math.hypot(side.to[0] - side.from[0], side.to[1] - side.from[1]);
  const t: P = [(side.to[0] - side.from[0]) / length, (side.to[1] - side.from[1]) / length];
  const n: P = [-t[1], t[0]];
  const face = report.track.gaugeMm / 2 + report.track.headWidthMm;
  let least = Infinity;
  for (const { places } of tracks) {
    for (const { at, along } of places) {
      for (const sign of [1, -1]) {
        const p = [at[0] - sign * face * along[1] - side.from[0], at[1] + sign * face * along[0] - side.from[1]];
        const foot = p[0] * t[0] + p[1] * t[1];
        if (foot < fromMm || foot > Math.min(toMm, length)) continue;
        const edge: P = [side.from[0] + foot * t[0], side.from[1] + foot * t[1]];
        if (!faces(report.table.outline, [p[0] + side.from[0], p[1] + side.from[1]], edge)) continue;
        least = Math.min(least, p[0] * n[0] + p[1] * n[1]);
      }
    }
  }
  return least;
}

export function checkClearances(
  report: Report,
  wishes: Wishes,
  plan: PlanWithoutAlternatives,
  tracks: readonly Track[],
  toleranceMm: number,
  say: Say,
): void {
  for (const { name } of report.table.sides) {
    const asked = wishes.clearance.filter((wish) => wish.side === name);
    const short = asked.map((wish) => {
      const found = clearanceOf(report, tracks, name, wish.fromMm ?? 0, wish.toMm ?? Infinity);
      return Math.max(0, wish.atLeastMm - found);
    });
    short.sort((a, b) => b - a);
    const said = plan.unmet.filter((u) => u.wish === `clearance ${name}`).map((u) => u.shortByMm);
    said.sort((a, b) => b - a);
    // What is said to be short of a part of a side may be so at its very end, between two samples.
    const isPart = asked.some((wish) => wish.fromMm !== undefined || wish.toMm !== undefined);
    const overMm = toleranceMm + 0.06 + (isPart || !isConvex(report.table.outline) ? 4 : 0);
    for (let i = 0; i < Math.max(short.length, said.length); i++) {
      const [isMm, saidMm] = [short[i] ?? 0, said[i] ?? 0];
      if (isMm > saidMm + 0.06) say(`clearance ${name} is short by ${isMm}, said ${saidMm}`);
      if (saidMm > isMm + overMm) say(`clearance ${name} is said to be short by ${saidMm}, and is by ${isMm}`);
    }
  }
  for (const side of report.table.sides) {
    const said = plan.predicted.clearances.find((c) => c.side === side.name);
    const found = clearanceOf(report, tracks, side.name, 0, Infinity);
    // Where an inside corner hides part of the track, the nearest place in sight may lie between two samples.
    const coarseMm = isConvex(report.table.outline) ? 0 : 3;
    const offMm = said ? found - said.distance.value : 0;
    if (said && (offMm < -toleranceMm || offMm > toleranceMm + coarseMm))
      say(`side ${side.name}: ${found}, said ${said.distance.value}`);
    if (!said && found < Infinity) say(`nothing is said about side ${side.name}`);
  }
}

export function checkZones(
  report: Report,
  wishes: Wishes,
  plan: PlanWithoutAlternatives,
  tracks: readonly Track[],
  say: Say,
): void {
  const face = report.track.gaugeMm / 2 + report.track.headWidthMm;
  for (const zone of wishes.keepFree) {
    let deepest = 0;
    const c = Math.cos(zone.angleRad);
    const s = Math.sin(zone.angleRad);
    for (const { places } of tracks) {
      for (const { at, along } of places) {
        for (const offset of [face, 0, -face]) {
          const p = [at[0] - offset * along[1] - zone.centre[0], at[1] + offset * along[0] - zone.centre[1]];
          const x = Math.abs(p[0] * c + p[1] * s);
          const y = Math.abs(-p[0] * s + p[1] * c);
          deepest = Math.max(
            deepest,
            Math.min(zone.widthMm / 2 + zone.marginMm - x, zone.depthMm / 2 + zone.marginMm - y),
          );
        }
      }
    }
    const said = unmetBy(plan, `keep free ${zone.name}`);
    if (deepest > said + 0.06) say(`zone ${zone.name} is entered by ${deepest}, said ${said}`);
  }
}

export function checkSpacings(wishes: Wishes, plan: PlanWithoutAlternatives, tracks: readonly Track[], say: Say): void {
  for (const wish of wishes.spacing) {
    const [a, b] = wish.runs.map((run) => tracks.find((t) => t.run === run));
    if (!a || !b || a === b) continue;
    let least = Infinity;
    for (const p of a.places)
      for (const q of b.places) least = Math.min(least, Math.hypot(p.at[0] - q.at[0], p.at[1] - q.at[1]));
    const said = unmetBy(plan, `spacing ${wish.runs[0]} ${wish.runs[1]}`);
    if (wish.atLeastMm - least > said + 0.06)
      say(`spacing ${wish.runs} is ${least}, wished ${wish.atLeastMm}, said ${said}`);
  }
}

export function checkStaying(wishes: Wishes, tracks: readonly Track[], noiseMm: number, say: Say): void {
  for (const track of tracks) {
    // Laid out tight, a piece lies back by the allowance of the joints before it.
    const playMm = wishes.jointAllowanceMm * track.moved.length + noiseMm + 0.01;
    const atMostMm = Math.SQRT2 * Math.min(wishes.closingMm, wishes.stepMm) + playMm;
    const staying = wishes.stay.filter((s) => s.run === track.run).flatMap((s) => s.pieces);
    const moves = staying.flatMap((piece) => (track.moved[piece] ? [Math.hypot(...track.moved[piece])] : []));
    if (Math.min(...moves) > playMm && moves.length > 0) say(`of ${staying} of ${track.run} each moves: ${moves}`);
    if (Math.max(...moves) > atMostMm) say(`of ${staying} of ${track.run} one moves by ${Math.max(...moves)}`);
  }
}
