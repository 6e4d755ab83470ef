import { ruledGap, steelRuleUMm } from '../../server/contract/gap-readings.js';
import { type Plan, planFormat, planSchema } from '../../server/contract/plan.js';
import { type Report, reportFormat, reportSchema } from '../../server/contract/report.js';

type Pair = [number, number];

const leftMm = 560;
const lowMm = 180;
const radiusMm = 381;

/** Gaps with an even index lie in the lower straight, the others in the upper one; pieces between them are alike. */
function straightOf(gapsMm: readonly number[], upper: boolean, lengthMm: number) {
  const own = gapsMm.flatMap((gap, i) => ((i % 2 === 1) === upper ? [{ gap, id: `J${i + 1}` }] : []));
  const pieceMm = (lengthMm - own.reduce((sum, g) => sum + g.gap, 0)) / (own.length + 1);
  return { own, pieceMm };
}

function straightLength(gapsMm: readonly number[]): number {
  const [lower, upper] = [0, 1].map((k) => gapsMm.filter((_, i) => i % 2 === k));
  const need = (gaps: readonly number[]) => gaps.reduce((a, b) => a + b, 0) + 80 * (gaps.length + 1);
  return Math.max(1140, need(lower), need(upper));
}

/** An invented oval on an invented table: two straights with the gaps asked for, eight curves. Gaps under 5 mm are closed joints. */
export function ovalReport(gapsMm: readonly number[]): Report {
  const lengthMm = straightLength(gapsMm);
  const right = leftMm + lengthMm;
  const widthMm = right + 740;
  const depthMm = 1220;
  const centreY = lowMm + radiusMm;
  const upperY = lowMm + 2 * radiusMm;
  const turn = (centre: Pair, startRad: number) =>
    [0, 1, 2, 3].map((i) => {
      const a = startRad + (i * Math.PI) / 4;
      const at = (angle: number): Pair => [
        centre[0] + radiusMm * Math.cos(angle),
        centre[1] + radiusMm * Math.sin(angle),
      ];
      const radius = { value: radiusMm, u: 0.8 };
      return { kind: 'curve' as const, from: at(a), to: at(a + Math.PI / 4), centre, sweepRad: Math.PI / 4, radius };
    });
  const joints: object[] = [];
  const straight = (upper: boolean, firstIndex: number) => {
    const { own, pieceMm } = straightOf(gapsMm, upper, lengthMm);
    const point = (along: number): Pair => (upper ? [right - along, upperY] : [leftMm + along, lowMm]);
    let along = 0;
    return Array.from({ length: own.length + 1 }, (_, k) => {
      const from = point(along);
      along += pieceMm;
      const to = point(along);
      const next = own[k];
      if (next !== undefined) {
        const kinkRad = { value: 0.002, u: 0.002 };
        const place = {
          id: next.id,
          run: 'R1',
          at: point(along + next.gap / 2),
          pieces: [firstIndex + k, firstIndex + k + 1],
        };
        joints.push({ ...place, open: next.gap > 5, gap: { value: next.gap, u: 0.2 }, kinkRad, seen: [] });
        along += next.gap;
      }
      return {
        kind: 'straight' as const,
        from,
        to,
        headingRad: upper ? Math.PI : 0,
        length: { value: pieceMm, u: 0.3 },
      };
    });
  };
  const lower = straight(false, 0);
  const upper = straight(true, lower.length + 4);
  const corners: Pair[] = [
    [0, 0],
    [widthMm, 0],
    [widthMm, depthMm],
    [0, depthMm],
  ];
  const side = (name: string, from: Pair, to: Pair) => {
    const length = { value: Math.hypot(to[0] - from[0], to[1] - from[1]), u: 0.8 };
    return { name, from, to, length, seen: true };
  };
  const clearance = (name: string, at: Pair, edgeAt: Pair) => {
    const distance = { value: Math.hypot(at[0] - edgeAt[0], at[1] - edgeAt[1]), u: 0.6 };
    return { side: name, run: 'R1', distance, at, edgeAt, seen: [] };
  };
  const faceMm = 20.475;
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
      outline: corners,
      sides: ['A', 'B', 'C', 'D'].map((name, i) => side(name, corners[i], corners[(i + 1) % 4])),
    },
    track: { railTopMm: 17.5, gaugeMm: 31.75, headWidthMm: 4.6 },
    runs: [
      {
        id: 'R1',
        closed: true,
        pieces: [...lower, ...turn([right, centreY], -Math.PI / 2), ...upper, ...turn([leftMm, centreY], Math.PI / 2)],
      },
    ],
    joints,
    clearances: [
      clearance('A', [1100, lowMm - faceMm], [1100, 0]),
      clearance('B', [right + radiusMm + faceMm, centreY], [widthMm, centreY]),
      clearance('C', [1100, upperY + faceMm], [1100, depthMm]),
      clearance('D', [leftMm - radiusMm - faceMm, centreY], [0, centreY]),
    ],
    profile: [clearance('A', [700, lowMm - faceMm], [700, 0])],
    spacings: [],
    notSeen: [{ run: 'R1', from: [leftMm + 20, upperY], to: [leftMm + 90, upperY], why: 'covered' }],
    warnings: [],
  });
}

/** The gaps that the fillers of `gapPlan` are for lie this much wider. */
const slackMm = 0.3;

/** The layout that `gapPlan` closes. */
export function gapReport(lengthsMm: readonly number[]): Report {
  return ovalReport(lengthsMm.map((mm) => mm + slackMm));
}

export interface PlanWords {
  readonly donorNames?: (i: number) => string;
  readonly donorMm?: number;
  readonly unmet?: Plan['unmet'];
  readonly warnings?: Plan['warnings'];
}

/** The same plan where a rule was laid in one of the gaps, and says as much as given. */
export function ruledPlan(plan: Plan, joint: string, lengthMm: number): Plan {
  const rule = { value: lengthMm, u: steelRuleUMm };
  const photo = plan.fillers.find((f) => f.joint === joint)?.gap ?? rule;
  const ruled = ruledGap(joint, rule, photo);
  const fillers = plan.fillers.map((f) => (f.joint === joint && f.gap ? { ...f, gap: ruled.length } : f));
  return { ...plan, fillers, byRule: [...(plan.byRule ?? []), ruled] };
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
    stretches: [false, true].map((upper) => plannedStretch(lengthsMm, upper)),
    fillers: lengthsMm.map((lengthMm, i) => ({
      id: `F${i + 1}`,
      lengthMm,
      label: `${lengthMm} mm`,
      run: 'R1',
      joint: `J${i + 1}`,
      gap: { value: lengthMm + slackMm, u: 0.2 },
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

function plannedStretch(lengthsMm: readonly number[], upper: boolean) {
  const gaps = lengthsMm.map((mm) => mm + slackMm);
  const lengthMm = straightLength(gaps);
  const { own, pieceMm } = straightOf(gaps, upper, lengthMm);
  const first = upper ? straightOf(gaps, false, lengthMm).own.length + 5 : 0;
  const pieces = Array.from({ length: own.length + 1 }, (_, k) => first + k);
  const fillers = own.map((g) => ({ filler: g.id.replace('J', 'F') }));
  return {
    run: 'R1',
    pieces,
    headingRad: upper ? Math.PI : 0,
    nowMm: lengthMm,
    thenMm: lengthMm - slackMm * own.length,
    made: [{ lengthMm: pieceMm, count: own.length + 1, source: 'layout' as const }, ...fillers],
    order: pieces.flatMap((piece, k) => (k < fillers.length ? [{ piece }, fillers[k]] : [{ piece }])),
  };
}

/** Lengths in whole sixteenths of an inch between 1 1/2 and 6 in, the same for the same count. */
export function someLengths(count: number): number[] {
  return Array.from({ length: count }, (_, i) => ((24 + ((i * 37) % 71)) * 25.4) / 16);
}
