import type { Report, ReportPiece } from '../../server/contract/report.js';
import { madeCoverage } from './made-coverage.js';
import type { SceneTruth } from './scene-truth.js';

const radians = (degrees: number): number => (degrees * Math.PI) / 180;
const sides = { A: 'y0', B: 'xL', C: 'yW', D: 'x0' } as const;

/**
 * A report as a faultless measurement would give it, for tests of what is shown: from truth, with uncertainties of the
 * size that measuring has. Never used to test measuring.
 * @param file the photo's name as the table knows it
 */
export function reportFromTruth(truth: SceneTruth, file: string): Report {
  const { R, t, width, height, ...lens } = truth.camera;
  const { length: l, width: w } = truth.table;
  const corners: [number, number][] = [
    [0, 0],
    [l, 0],
    [l, w],
    [0, w],
  ];
  return {
    format: 'gapwright-measurement/1',
    photos: [
      {
        file,
        widthPx: width,
        heightPx: height,
        camera: {
          fx: lens.fx,
          fy: lens.fy,
          cx: lens.cx,
          cy: lens.cy,
          k1: lens.k1,
          k2: lens.k2,
          p1: lens.p1,
          p2: lens.p2,
          rotation: R,
          translation: t,
        },
        rmsResidualPx: 0.2,
        markers: truth.markers.map((m) => ({ id: m.id, cornersPx: m.corners_px, used: true, reason: null })),
      },
    ],
    markers: truth.markers.map((m) => ({
      id: m.id,
      sideMm: m.side,
      centre: flat(m.centre),
      corners: m.corners.map(flat),
    })),
    table: {
      outline: corners,
      sides: (['A', 'B', 'C', 'D'] as const).map((name, i) => ({
        name,
        from: corners[i],
        to: corners[(i + 1) % 4],
        length: { value: i % 2 === 0 ? l : w, u: 0.4 },
        seen: true,
      })),
    },
    track: {
      railTopMm: truth.profile.rail_top,
      gaugeMm: truth.profile.gauge,
      headWidthMm: truth.profile.head_diameter,
    },
    runs: truth.chains.map((c) => ({ id: c.id, closed: c.closed, pieces: c.sections.map((id) => pieceOf(truth, id)) })),
    joints: truth.joints.filter((j) => j.visible).map((j) => jointOf(truth, j, file)),
    clearances: (Object.keys(sides) as (keyof typeof sides)[]).map((side) => {
      const c = truth.side_clearances[sides[side]];
      const run = truth.sections.find((s) => s.id === c.section) as unknown as { chain: string };
      return {
        side,
        run: run.chain,
        distance: { value: c.clearance, u: 0.4 },
        at: flat(c.point),
        seen: [{ photo: file, px: c.point_px }],
      };
    }),
    profile: profileOf(truth, file),
    spacings: [],
    notSeen: [],
    warnings: [],
    coverage: madeCoverage(l, w, flat(truth.markers[0].centre)),
  };
}

function flat(p: readonly number[]): [number, number] {
  return [p[0], p[1]];
}

function pieceOf(truth: SceneTruth, id: string): ReportPiece {
  const s = truth.sections.find((one) => one.id === id);
  if (!s) throw new Error(`no section ${id}`);
  const ends = { from: flat(s.start.point), to: flat(s.end.point) };
  if (s.kind === 'straight' || s.radius === null || s.angle_deg === null) {
    return {
      kind: 'straight',
      ...ends,
      headingRad: radians(s.start.heading_deg),
      length: { value: s.length, u: 0.25 },
    };
  }
  const side = Math.sign(s.angle_deg);
  const h = radians(s.start.heading_deg);
  const centre: [number, number] = [
    ends.from[0] - Math.sin(h) * side * s.radius,
    ends.from[1] + Math.cos(h) * side * s.radius,
  ];
  return { kind: 'curve', ...ends, centre, sweepRad: radians(s.angle_deg), radius: { value: s.radius, u: 0.8 } };
}

function jointOf(truth: SceneTruth, j: SceneTruth['joints'][number], file: string): Report['joints'][number] {
  const order = truth.chains.find((c) => c.id === j.chain)?.sections ?? [];
  const u = { u: 0.2 };
  return {
    id: j.id,
    run: j.chain,
    at: flat(j.centre),
    open: j.open,
    gap: { value: j.gap, ...u },
    rails: {
      left: { value: j.rails.left.gap, ...u },
      centre: { value: j.rails.centre.gap, ...u },
      right: { value: j.rails.right.gap, ...u },
    },
    kinkRad: { value: radians(j.skew_deg), u: 0.002 },
    pieces: [order.indexOf(j.a), order.indexOf(j.b)],
    seen: [{ photo: file, px: j.centre_px }],
  };
}

/** Distance to the nearest side every 10 mm along the outside faces. */
function profileOf(truth: SceneTruth, file: string): Report['profile'] {
  const { length: l, width: w } = truth.table;
  const face = truth.profile.outside_face_offset;
  return truth.sections.flatMap((s) => {
    const piece = pieceOf(truth, s.id);
    const count = Math.ceil(s.length / 10);
    return Array.from({ length: count }, (_, i): Report['profile'][number] => {
      const share = (i + 0.5) / count;
      const [x, y, heading] = placeOn(piece, share);
      const faces = [face, -face].map((o): [number, number] => [x - Math.sin(heading) * o, y + Math.cos(heading) * o]);
      const all = faces.flatMap((at) => [
        { side: 'A', at, mm: at[1] },
        { side: 'B', at, mm: l - at[0] },
        { side: 'C', at, mm: w - at[1] },
        { side: 'D', at, mm: at[0] },
      ]);
      const best = all.reduce((a, b) => (b.mm < a.mm ? b : a));
      const run = (s as unknown as { chain: string }).chain;
      return {
        side: best.side,
        run,
        distance: { value: best.mm, u: 0.4 },
        at: best.at,
        seen: [{ photo: file, px: [0, 0] }],
      };
    });
  });
}

function placeOn(piece: ReportPiece, share: number): [number, number, number] {
  if (piece.kind === 'straight') {
    const { from, to } = piece;
    return [
      from[0] + (to[0] - from[0]) * share,
      from[1] + (to[1] - from[1]) * share,
      Math.atan2(to[1] - from[1], to[0] - from[0]),
    ];
  }
  const { from, centre, sweepRad } = piece;
  const angle = Math.atan2(from[1] - centre[1], from[0] - centre[0]) + sweepRad * share;
  const r = Math.hypot(from[0] - centre[0], from[1] - centre[1]);
  return [
    centre[0] + r * Math.cos(angle),
    centre[1] + r * Math.sin(angle),
    angle + (Math.sign(sweepRad) * Math.PI) / 2,
  ];
}
