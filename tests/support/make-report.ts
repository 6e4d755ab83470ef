import { type Report, type ReportPiece, reportFormat } from '../../server/contract/report.js';
import { normalFrom, seededRandom } from './seeded-random.js';

/**
 * Makes measurement reports of invented layouts, exact or with noise, without any photo. A layout is a list of runs; a run
 * is a list of sections laid from a start place and heading, straights (mm), curves (radius mm, degrees, left positive)
 * and open gaps (mm).
 */
export type Section =
  | { readonly straight: number }
  | { readonly radius: number; readonly degrees: number }
  | { readonly gap: number };

export interface RunSpec {
  readonly id: string;
  readonly closed: boolean;
  readonly start: readonly [number, number];
  readonly headingDeg: number;
  readonly sections: readonly Section[];
}

export interface LayoutSpec {
  readonly runs: readonly RunSpec[];
  /** Table corners, counter-clockwise. */
  readonly outline: readonly (readonly [number, number])[];
}

export interface NoiseSpec {
  readonly seed: number;
  /** Standard deviation of every length, gap and end place, millimetres. */
  readonly lengthMm?: number;
  /** Standard deviation of every straight's reported heading and every curve's sweep, degrees. */
  readonly headingDeg?: number;
  /** Standard uncertainty that the report states for its lengths. */
  readonly statedU?: number;
}

type Pair = [number, number];

/** Lays the runs out and writes them as a report. */
export function makeReport(layout: LayoutSpec, noise: NoiseSpec = { seed: 1 }): Report {
  const random = normalFrom(seededRandom(noise.seed));
  const jitter = (sigma: number | undefined) => (sigma ? sigma * random() : 0);
  const u = noise.statedU ?? noise.lengthMm ?? 0.2;
  const runs: Report['runs'] = [];
  const joints: Report['joints'] = [];
  for (const spec of layout.runs) {
    const { pieces, gaps } = lay(spec);
    for (const piece of pieces) blur(piece, noise, jitter, u);
    runs.push({ id: spec.id, closed: spec.closed, pieces });
    const count = pieces.length;
    for (let i = 0; i < (spec.closed ? count : count - 1); i++) {
      const next = (i + 1) % count;
      const a = pieces[i].to;
      const b = pieces[next].from;
      const open = gaps.has(i);
      joints.push({
        id: `${spec.id}-J${i + 1}`,
        run: spec.id,
        at: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2],
        open,
        gap: { value: open ? Math.max(1, (gaps.get(i) as number) + jitter(noise.lengthMm)) : 0, u },
        kinkRad: { value: 0, u: 0.001 },
        pieces: [i, next],
        seen: [],
      });
    }
  }
  const outline = layout.outline.map((p): Pair => [p[0], p[1]]);
  return {
    format: reportFormat,
    photos: [],
    markers: [],
    table: { outline, sides: sidesOf(outline) },
    track: { railTopMm: 17.5, gaugeMm: 31.75, headWidthMm: 4.6 },
    runs,
    joints,
    clearances: [],
    profile: [],
    spacings: [],
    notSeen: [],
    warnings: [],
  };
}

export function sidesOf(outline: readonly Pair[]): Report['table']['sides'] {
  return outline.map((from, i) => {
    const to = outline[(i + 1) % outline.length];
    const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
    return { name: String.fromCharCode(65 + i), from, to, length: { value: length, u: 0.5 } };
  });
}

/** gaps: index of the piece before the gap → its length. A gap before the first piece counts as behind the last one. */
function lay(spec: RunSpec): { pieces: ReportPiece[]; gaps: Map<number, number> } {
  const pieces: ReportPiece[] = [];
  const gaps = new Map<number, number>();
  let at: Pair = [spec.start[0], spec.start[1]];
  let heading = (spec.headingDeg * Math.PI) / 180;
  const count = spec.sections.filter((s) => !('gap' in s)).length;
  for (const section of spec.sections) {
    if ('gap' in section) {
      gaps.set((pieces.length + count - 1) % count, section.gap);
      at = [at[0] + section.gap * Math.cos(heading), at[1] + section.gap * Math.sin(heading)];
      continue;
    }
    if ('straight' in section) {
      const to: Pair = [at[0] + section.straight * Math.cos(heading), at[1] + section.straight * Math.sin(heading)];
      pieces.push({ kind: 'straight', from: at, to, headingRad: heading, length: { value: section.straight, u: 0.2 } });
      at = to;
      continue;
    }
    const sweep = (section.degrees * Math.PI) / 180;
    const side = Math.sign(sweep);
    const centre: Pair = [
      at[0] - side * section.radius * Math.sin(heading),
      at[1] + side * section.radius * Math.cos(heading),
    ];
    heading += sweep;
    const to: Pair = [
      centre[0] + side * section.radius * Math.sin(heading),
      centre[1] - side * section.radius * Math.cos(heading),
    ];
    const radius = { value: section.radius, u: 1 };
    pieces.push({ kind: 'curve', from: at, to, centre, sweepRad: sweep, radius });
    at = to;
  }
  return { pieces, gaps };
}

function blur(piece: ReportPiece, noise: NoiseSpec, jitter: (sigma: number | undefined) => number, u: number): void {
  const angle = noise.headingDeg === undefined ? undefined : (noise.headingDeg * Math.PI) / 180;
  piece.from = [piece.from[0] + jitter(noise.lengthMm), piece.from[1] + jitter(noise.lengthMm)];
  piece.to = [piece.to[0] + jitter(noise.lengthMm), piece.to[1] + jitter(noise.lengthMm)];
  if (piece.kind === 'straight') {
    piece.headingRad += jitter(angle);
    piece.length = { value: piece.length.value + jitter(noise.lengthMm), u };
  } else {
    piece.sweepRad += jitter(angle);
    piece.radius = { value: piece.radius.value + jitter(noise.lengthMm), u: 1 };
  }
}

/** An oval: two straights of the given sections, joined by half circles. `start` is where the first straight begins. */
export function oval(
  id: string,
  at: { readonly start: readonly [number, number]; readonly headingDeg: number; readonly radius: number },
  first: readonly Section[],
  second: readonly Section[],
): RunSpec {
  const half = [45, 45, 45, 45].map((degrees) => ({ radius: at.radius, degrees }));
  return {
    id,
    closed: true,
    start: at.start,
    headingDeg: at.headingDeg,
    sections: [...first, ...half, ...second, ...half],
  };
}

export const rectangle = (lengthMm: number, widthMm: number): [number, number][] => [
  [0, 0],
  [lengthMm, 0],
  [lengthMm, widthMm],
  [0, widthMm],
];
