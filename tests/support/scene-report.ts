import { existsSync, readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { type Report, type ReportPiece, reportFormat } from '../../server/contract/report.js';
import { sidesOf } from './make-report.js';

/** The optional folder with rendered photos and their truth; tests that need it skip without it. */
export const scenesFolder = resolve(import.meta.dirname, '../../../shared/scenes');

export function hasScene(name: string): boolean {
  return existsSync(resolve(scenesFolder, `${name}.json`));
}

interface Truth {
  table: { length: number; width: number };
  profile: { gauge: number; rail_top: number; head_diameter: number };
  chains: { id: string; closed: boolean; sections: string[] }[];
  sections: TruthSection[];
  joints: {
    id: string;
    chain: string;
    a: string;
    b: string;
    open: boolean;
    nominal_gap: number | null;
    gap: number;
    centre: number[];
    skew_deg: number;
  }[];
}

interface TruthSection {
  id: string;
  kind: 'straight' | 'curve';
  length: number;
  radius: number | null;
  angle_deg: number | null;
  start: { point: number[]; heading_deg: number };
  end: { point: number[]; heading_deg: number };
}

/** A scene's truth written as if it had been measured perfectly, with the missing lengths of its open joints. */
export function sceneReport(name: string): { report: Report; missing: Map<string, number> } {
  const truth = JSON.parse(readFileSync(resolve(scenesFolder, `${name}.json`), 'utf8')) as Truth;
  const byId = new Map(truth.sections.map((s) => [s.id, s]));
  const missing = new Map<string, number>();
  const runs: Report['runs'] = truth.chains.map((chain) => ({
    id: chain.id,
    closed: chain.closed,
    pieces: chain.sections.map((id) => pieceOf(byId.get(id) as TruthSection)),
  }));
  const joints = truth.joints.map((j): Report['joints'][number] => {
    const order = truth.chains.find((c) => c.id === j.chain)?.sections ?? [];
    if (j.open && j.nominal_gap !== null) missing.set(j.id, j.nominal_gap);
    return {
      id: j.id,
      run: j.chain,
      at: [j.centre[0], j.centre[1]],
      open: j.open,
      gap: { value: j.gap, u: 0.2 },
      kinkRad: { value: (j.skew_deg * Math.PI) / 180, u: 0.001 },
      pieces: [order.indexOf(j.a), order.indexOf(j.b)],
      seen: [],
    };
  });
  const { length, width } = truth.table;
  const outline: [number, number][] = [
    [0, 0],
    [length, 0],
    [length, width],
    [0, width],
  ];
  const report: Report = {
    format: reportFormat,
    photos: [],
    markers: [],
    table: { outline, sides: sidesOf(outline) },
    track: {
      railTopMm: truth.profile.rail_top,
      gaugeMm: truth.profile.gauge,
      headWidthMm: truth.profile.head_diameter,
    },
    runs,
    joints,
    clearances: [],
    profile: [],
    spacings: [],
    notSeen: [],
    warnings: [],
  };
  return { report, missing };
}

function pieceOf(section: TruthSection): ReportPiece {
  const from: [number, number] = [section.start.point[0], section.start.point[1]];
  const to: [number, number] = [section.end.point[0], section.end.point[1]];
  const headingRad = (section.start.heading_deg * Math.PI) / 180;
  if (section.kind === 'straight') {
    return { kind: 'straight', from, to, headingRad, length: { value: section.length, u: 0.2 } };
  }
  const sweepRad = ((section.angle_deg ?? 0) * Math.PI) / 180;
  const radius = section.radius ?? 0;
  const side = Math.sign(sweepRad);
  const centre: [number, number] = [
    from[0] - side * radius * Math.sin(headingRad),
    from[1] + side * radius * Math.cos(headingRad),
  ];
  return { kind: 'curve', from, to, centre, sweepRad, radius: { value: radius, u: 0.5 } };
}
