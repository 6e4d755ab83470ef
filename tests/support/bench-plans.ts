import { type Plan, planFormat, planSchema } from '../../server/contract/plan.js';
import { type Report, reportFormat, reportSchema } from '../../server/contract/report.js';

/** An invented oval on an invented table: two straights of two sections each, eight curves, gaps as asked. */
export function ovalReport(gapsMm: readonly number[]): Report {
  const widthMm = 2440;
  const depthMm = 1220;
  const radius = 381;
  const left = 560;
  const right = 1700;
  const low = 180;
  const centreY = low + radius;
  const straight = (from: [number, number], to: [number, number], headingRad: number) => ({
    kind: 'straight' as const,
    from,
    to,
    headingRad,
    length: { value: Math.hypot(to[0] - from[0], to[1] - from[1]), u: 0.3 },
  });
  const turn = (centre: [number, number], startRad: number) =>
    [0, 1, 2, 3].map((i) => {
      const a = startRad + (i * Math.PI) / 4;
      const at = (angle: number): [number, number] => [
        centre[0] + radius * Math.cos(angle),
        centre[1] + radius * Math.sin(angle),
      ];
      return {
        kind: 'curve' as const,
        from: at(a),
        to: at(a + Math.PI / 4),
        centre,
        sweepRad: Math.PI / 4,
        radius: { value: radius, u: 0.8 },
      };
    });
  const y2 = low + 2 * radius;
  const pieces = [
    straight([left, low], [left + 400, low], 0),
    straight([left + 450, low], [right, low], 0),
    ...turn([right, centreY], -Math.PI / 2),
    straight([right, y2], [left + 450, y2], Math.PI),
    straight([left + 400, y2], [left, y2], Math.PI),
    ...turn([left, centreY], Math.PI / 2),
  ];
  const joints = gapsMm.map((gap, i) => {
    const upper = i % 2 === 1;
    const along = left + 200 + ((right - left - 300) * Math.floor(i / 2)) / Math.max(1, gapsMm.length / 2);
    return {
      id: `J${i + 1}`,
      run: 'R1',
      at: [along, upper ? y2 : low],
      open: true,
      gap: { value: gap, u: 0.2 },
      kinkRad: { value: 0.002, u: 0.002 },
      seen: [],
    };
  });
  const side = (name: string, from: [number, number], to: [number, number]) => ({
    name,
    from,
    to,
    length: { value: Math.hypot(to[0] - from[0], to[1] - from[1]), u: 0.8 },
    seen: true,
  });
  const clearance = (name: string, at: [number, number], edgeAt: [number, number]) => ({
    side: name,
    run: 'R1',
    distance: { value: Math.hypot(at[0] - edgeAt[0], at[1] - edgeAt[1]), u: 0.6 },
    at,
    edgeAt,
    seen: [],
  });
  return reportSchema.parse({
    format: reportFormat,
    photos: [],
    markers: [
      {
        id: 3,
        sideMm: 120,
        centre: [1200, 560],
        corners: [
          [1140, 620],
          [1260, 620],
          [1260, 500],
          [1140, 500],
        ],
      },
    ],
    table: {
      outline: [
        [0, 0],
        [widthMm, 0],
        [widthMm, depthMm],
        [0, depthMm],
      ],
      sides: [
        side('A', [0, 0], [widthMm, 0]),
        side('B', [widthMm, 0], [widthMm, depthMm]),
        side('C', [widthMm, depthMm], [0, depthMm]),
        side('D', [0, depthMm], [0, 0]),
      ],
    },
    track: { railTopMm: 17.5, gaugeMm: 31.75, headWidthMm: 4.6 },
    runs: [{ id: 'R1', closed: true, pieces }],
    joints,
    clearances: [
      clearance('A', [1100, low - 20.475], [1100, 0]),
      clearance('B', [right + radius + 20.475, centreY], [widthMm, centreY]),
      clearance('C', [1100, y2 + 20.475], [1100, depthMm]),
      clearance('D', [left - radius - 20.475, centreY], [0, centreY]),
    ],
    profile: [],
    spacings: [],
    notSeen: [],
    warnings: [],
  });
}

export interface PlanWords {
  readonly donorNames?: (i: number) => string;
  readonly donorMm?: number;
  readonly unmet?: Plan['unmet'];
  readonly warnings?: Plan['warnings'];
}

/** A plan that closes the gaps one by one, fillers cut from donors in their order as many as fit. */
export function gapPlan(lengthsMm: readonly number[], words: PlanWords = {}): Plan {
  const donorMm = words.donorMm ?? 254;
  const kerfMm = 1;
  const donors: { donor: string; lengthMm: number; pieces: string[]; marksMm: number[]; offcutMm: number }[] = [];
  lengthsMm.forEach((lengthMm, i) => {
    const open = donors.at(-1);
    const start = open === undefined ? 0 : (open.marksMm.at(-1) as number) + kerfMm;
    if (open === undefined || start + lengthMm > donorMm) {
      const name = words.donorNames?.(donors.length) ?? `d${donors.length + 1}`;
      donors.push({ donor: name, lengthMm: donorMm, pieces: [`F${i + 1}`], marksMm: [lengthMm], offcutMm: 0 });
    } else {
      open.pieces.push(`F${i + 1}`);
      open.marksMm.push(start + lengthMm);
    }
  });
  for (const d of donors) d.offcutMm = Math.max(0, d.lengthMm - (d.marksMm.at(-1) as number) - kerfMm);
  return planSchema.parse({
    format: planFormat,
    stretches: [
      {
        run: 'R1',
        pieces: [0, 1],
        headingRad: 0,
        nowMm: 1140,
        thenMm: 1140,
        made: [{ lengthMm: 254, count: 2, source: 'layout' }, ...lengthsMm.map((_, i) => ({ filler: `F${i + 1}` }))],
      },
    ],
    fillers: lengthsMm.map((lengthMm, i) => ({
      id: `F${i + 1}`,
      lengthMm,
      label: `${lengthMm} mm`,
      run: 'R1',
      joint: `J${i + 1}`,
      gap: { value: lengthMm + 0.3, u: 0.2 },
    })),
    donors,
    shift: {},
    predicted: {
      clearances: [
        { side: 'A', distance: { value: 159.5, u: 0.6 } },
        { side: 'B', distance: { value: 338.5, u: 0.7 } },
      ],
      closing: [{ run: 'R1', dxMm: 0.3, dyMm: -0.4, kinkRad: 0.001 }],
    },
    unmet: words.unmet ?? [],
    warnings: words.warnings ?? [],
    kerfMm,
    stepMm: 25.4 / 16,
  });
}

/** Lengths in whole sixteenths of an inch between 1 1/2 and 6 in, the same for the same count. */
export function someLengths(count: number): number[] {
  return Array.from({ length: count }, (_, i) => ((24 + ((i * 37) % 71)) * 25.4) / 16);
}
