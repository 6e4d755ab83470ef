import { type LayoutSpec, makeReport, type RunSpec, type Section } from './make-report.js';
import { seededRandom } from './seeded-random.js';

/** Random layouts that close exactly before gaps are measured: loops of several shapes at any angle, and open runs. */
export function randomLayout(seed: number): LayoutSpec {
  const random = seededRandom(seed);
  const pick = <T>(items: readonly T[]): T => items[Math.floor(random() * items.length)];
  const count = 1 + Math.floor(random() * 3);
  const runs: RunSpec[] = [];
  for (let r = 0; r < count; r++) {
    const start: [number, number] = [5000 * r + random() * 200, random() * 400];
    const headingDeg = random() * 360;
    const id = `R${r + 1}`;
    if (random() < 0.25) runs.push({ id, closed: false, start, headingDeg, sections: openRun(random, pick) });
    else
      runs.push({
        id,
        closed: true,
        start,
        headingDeg,
        sections: rotate(loop(random, pick), Math.floor(random() * 20)),
      });
  }
  return {
    runs,
    outline: tableAround(
      runs,
      [150, 150, 150, 150].map((mm) => mm + random() * 200),
    ),
  };
}

/** A rectangular table around runs: margins from the outermost centre line to the sides below, right, above, left. */
export function tableAround(runs: readonly RunSpec[], margins: readonly number[]): [number, number][] {
  const report = makeReport({ runs, outline: [] });
  const points = report.runs.flatMap((run) =>
    run.pieces.flatMap((piece) => {
      if (piece.kind === 'straight') return [piece.from, piece.to];
      const start = Math.atan2(piece.from[1] - piece.centre[1], piece.from[0] - piece.centre[0]);
      return Array.from({ length: 33 }, (_, i): [number, number] => {
        const angle = start + (piece.sweepRad * i) / 32;
        return [
          piece.centre[0] + piece.radius.value * Math.cos(angle),
          piece.centre[1] + piece.radius.value * Math.sin(angle),
        ];
      });
    }),
  );
  const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
  const [low, right, high, left] = margins;
  const x = [Math.min(...xs) - left, Math.max(...xs) + right];
  const y = [Math.min(...ys) - low, Math.max(...ys) + high];
  return [
    [x[0], y[0]],
    [x[1], y[0]],
    [x[1], y[1]],
    [x[0], y[1]],
  ];
}

type Pick = <T>(items: readonly T[]) => T;

/** Loops of equal curves with straights between: sides that face each other have equal lengths. */
function loop(random: () => number, pick: Pick): Section[] {
  const corners = pick([2, 4, 8, 3]);
  const radius = pick([320, 381, 520]);
  const each = 360 / corners;
  const perCorner = each === 120 ? 4 : each / 45;
  const degrees = each / perCorner;
  const half = corners === 3 ? 1 : corners / 2;
  const lengths = Array.from({ length: half }, () => pick([254, 381, 508, 635, 508 + 60]));
  const sections: Section[] = [];
  for (let c = 0; c < corners; c++) {
    const total = corners === 3 ? lengths[0] : lengths[c % half];
    sections.push(...row(total, random, pick, 0.45));
    for (let k = 0; k < perCorner; k++) sections.push({ radius, degrees });
  }
  return sections;
}

/** A row of sections and now and then an open gap, together as long as asked. */
function row(totalMm: number, random: () => number, pick: Pick, gapChance: number): Section[] {
  const pieces: Section[] = [];
  let left = totalMm;
  let gaps = random() < gapChance ? (random() < 0.25 ? 2 : 1) : 0;
  while (left > 1e-6) {
    if (gaps > 0 && left > 20) {
      const gap = Math.min(left, pick([12, 22.2, 38.1, 50.8, 64, 90.4]));
      if (left - gap > 1e-6 || pieces.length > 0) {
        pieces.push({ gap });
        left -= gap;
        gaps--;
        if (left <= 1e-6) break;
      }
    }
    const length = Math.min(left, pick([254, 127, 254, 100]));
    pieces.push({ straight: length });
    left -= length;
  }
  // Two gaps may not follow each other.
  return pieces.filter((p, i) => !('gap' in p && i > 0 && 'gap' in pieces[i - 1])).length === pieces.length
    ? pieces
    : row(totalMm, random, pick, gapChance);
}

/** Starts a loop at another of its sections, so that rows and gaps go round the end of the list. */
function rotate(sections: Section[], by: number): Section[] {
  let at = by % sections.length;
  while ('gap' in sections[at]) at = (at + 1) % sections.length;
  return [...sections.slice(at), ...sections.slice(0, at)];
}

function openRun(random: () => number, pick: Pick): Section[] {
  const sections: Section[] = [...row(pick([381, 508]), random, pick, 0.7)];
  if ('gap' in sections[0]) sections.push(sections.shift() as Section, { straight: 127 });
  const turns = 1 + Math.floor(random() * 3);
  for (let t = 0; t < turns; t++) {
    sections.push(
      { radius: pick([381, 520]), degrees: pick([45, -45, 30]) },
      ...row(pick([254, 381]), random, pick, 0.6),
    );
  }
  while ('gap' in sections[sections.length - 1]) sections.push({ straight: 127 });
  return sections;
}
