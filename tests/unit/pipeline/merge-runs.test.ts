import { describe, expect, it } from 'vitest';
import { meanOf } from '../../../server/pipeline/merge-joints.js';
import { mergeRuns } from '../../../server/pipeline/merge-runs.js';
import { reversedRun } from '../../../server/pipeline/run-places.js';
import { warningsOf } from '../../../server/pipeline/warnings.js';
import type { MeasuredPiece, MeasuredRun } from '../../../server/scene/measured-layout.js';
import type { RailJoint } from '../../../server/scene/rail-joint.js';
import { pointOnArc } from '../../../server/scene/track-observation.js';

interface Told {
  readonly photo: number;
  /** From and to along x; negative lengths do not occur. */
  readonly pieces: readonly (readonly [number, number, 'covered'?])[];
  /** Middle, gap, its uncertainty. */
  readonly joints?: readonly (readonly [number, number, number])[];
  readonly y?: number;
}

/** A straight run along x as one photo shows it. */
function runOf({ photo, pieces, joints = [], y = 0 }: Told): MeasuredRun {
  const seen = joints.map(([s, value, u]): RailJoint => {
    const rail = (d: number) => ({ value: value + d, u });
    return { s, open: value >= 5, gapMm: { value, u }, railsMm: [rail(-0.1), rail(0), rail(0.1)] };
  });
  return {
    id: '',
    closed: false,
    photo,
    pieces: pieces.map(([from, to, covered], i): MeasuredPiece => {
      const half = (to - from) / 2;
      const arc = { x: from + half, y, headingRad: 0, curvaturePerMm: 0, halfLengthMm: half };
      return { arc, arcIndex: 10 * photo + i, straight: true, seen: !covered, fromS: -half, toS: half };
    }),
    joints: seen,
    jointPlaces: joints.map(([x]) => ({ x, y })),
    hidden: [],
  };
}

const radiusMm = 400;

/** An open run on a circle as one photo shows it, in pieces between these angles. */
function onCircle(photo: number, anglesRad: readonly number[]): MeasuredRun {
  const pieces = anglesRad.slice(1).map((to, i): MeasuredPiece => {
    const middle = (anglesRad[i] + to) / 2;
    const half = (radiusMm * (to - anglesRad[i])) / 2;
    const arc = {
      x: radiusMm * Math.sin(middle),
      y: -radiusMm * Math.cos(middle),
      headingRad: middle,
      curvaturePerMm: 1 / radiusMm,
      halfLengthMm: half,
    };
    return { arc, arcIndex: 10 * photo + i, straight: false, seen: true, fromS: -half, toS: half };
  });
  return { ...runOf({ photo, pieces: [] }), pieces };
}

/** Ends of the pieces along x, to the hundredth, with a mark where they are covered. */
const ends = (run: MeasuredRun): string[] =>
  run.pieces.map((p) => {
    const [a, b] = [pointOnArc(p.arc, p.fromS), pointOnArc(p.arc, p.toS)];
    return `${a.x.toFixed(2)} ${b.x.toFixed(2)}${p.seen ? '' : ' covered'}`;
  });

const everywhere = () => true;

describe('runs of several photos', () => {
  it('go on where another photo shows more, also where little of the piece at their end is left', () => {
    const short = runOf({ photo: 0, pieces: [[0, 200]] });
    const longer = runOf({
      photo: 1,
      pieces: [
        [0, 212],
        [212, 240],
        [240, 500],
      ],
    });
    const { runs } = mergeRuns([short, longer], 0, everywhere);
    expect(ends(runs[0])).toEqual(['0.00 200.00', '200.00 212.00', '212.00 240.00', '240.00 500.00']);
  });

  it('average the gap and the place of an open joint by their uncertainties, and the pieces follow', () => {
    const a = runOf({
      photo: 0,
      pieces: [
        [0, 200],
        [230, 400],
      ],
      joints: [[215, 30, 0.3]],
    });
    const b = runOf({
      photo: 1,
      pieces: [
        [0, 201],
        [232, 400],
      ],
      joints: [[216.5, 31, 0.3]],
    });
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(runs).toHaveLength(1);
    const [joint] = runs[0].joints;
    expect(joint.gapMm.value).toBeCloseTo(30.5, 6);
    expect(joint.railsMm[0]?.value).toBeCloseTo(30.4, 6);
    expect(joint.gapMm.u).toBeGreaterThan(0.3);
    expect(runs[0].jointPlaces[0].x).toBeCloseTo(215.75, 6);
    expect(ends(runs[0])).toEqual(['0.00 200.50', '231.00 400.00']);
  });

  it('have no closed joint that is hardly told, not even by two photos; the pieces there stay apart, and meet', () => {
    const pieces: Told['pieces'] = [
      [0, 199.5],
      [200.5, 400],
    ];
    const jointsOf = (...us: readonly number[]): readonly RailJoint[] => {
      const seen = us.map((u, photo) => runOf({ photo, pieces, joints: [[200, 1, u]] }));
      return mergeRuns(seen, 0, everywhere).runs[0].joints;
    };
    expect(jointsOf(0.3)).toHaveLength(1);
    expect(jointsOf(0.45)).toHaveLength(0);
    expect(jointsOf(0.45, 0.45)).toHaveLength(1);
    expect(jointsOf(0.8, 0.8)).toHaveLength(0);
    const { runs } = mergeRuns([runOf({ photo: 0, pieces, joints: [[200, 1, 0.45]] })], 0, everywhere);
    expect(ends(runs[0])).toEqual(['0.00 200.00', '200.00 400.00']);
    expect(runs[0].jointPlaces).toEqual([]);
    const wide = runOf({ photo: 0, pieces: [pieces[0], [212.5, 400]], joints: [[206, 13, 0.8]] });
    expect(mergeRuns([wide], 0, everywhere).runs[0].joints).toHaveLength(1);
  });

  it('leave out the one of three that took something else for the end of a rail, whichever it is', () => {
    const photos = [
      [214.9, 30.2, 0.3],
      [210.4, 21, 0.3],
      [215.1, 29.8, 0.3],
    ] as const;
    for (const order of [
      [0, 1, 2],
      [1, 0, 2],
      [2, 0, 1],
    ]) {
      const told = order.map((k, photo) => {
        const [s, gap] = photos[k];
        const pieces = [
          [0, s - gap / 2],
          [s + gap / 2, 400],
        ] as const;
        return runOf({ photo, pieces, joints: [photos[k]] });
      });
      const { runs } = mergeRuns(told, 0, everywhere);
      const [joint] = runs[0].joints;
      expect(joint.gapMm.value).toBeCloseTo(30, 6);
      expect(joint.gapMm.u).toBeLessThan(0.3);
      expect(joint.railsMm[1]?.value).toBeCloseTo(30, 6);
      expect(ends(runs[0])).toEqual(['0.00 200.00', '230.00 400.00']);
    }
    const [two] = mergeRuns(
      [0, 1].map((photo) =>
        runOf({
          photo,
          pieces: [
            [0, 200],
            [230, 400],
          ],
          joints: [photos[photo]],
        }),
      ),
      0,
      everywhere,
    ).runs;
    expect(two.joints[0].gapMm.u).toBeGreaterThan(3);
  });

  it('become surer where they agree, and never surer than what all photos have in common', () => {
    expect(
      meanOf([
        { value: 10, u: 0.4 },
        { value: 10.1, u: 0.4 },
      ]).u,
    ).toBeLessThan(0.35);
    expect(meanOf(Array.from({ length: 50 }, () => ({ value: 10, u: 0.3 }))).u).toBeGreaterThan(0.12);
    expect(
      meanOf([
        { value: 10, u: 0.2 },
        { value: 12, u: 0.2 },
      ]).u,
    ).toBeGreaterThan(0.9);
    expect(
      meanOf([
        { value: 10, u: 0.1 },
        { value: 12, u: 1 },
      ]).value,
    ).toBeLessThan(10.1);
  });

  it('are one though one photo follows them the other way round', () => {
    const told = {
      pieces: [
        [0, 200],
        [230, 400],
      ],
      joints: [[215, 30, 0.3]],
    } as const;
    const a = runOf({ photo: 0, ...told });
    const { runs } = mergeRuns([a, reversedRun(runOf({ photo: 1, ...told }))], 0, everywhere);
    expect(ends(runs[0])).toEqual(ends(a));
    expect(runs[0].joints[0].railsMm.map((r) => r?.value.toFixed(3))).toEqual(['29.900', '30.000', '30.100']);
  });

  it('are filled with gap and all where another photo looks behind the cover', () => {
    const a = runOf({
      photo: 0,
      pieces: [
        [0, 200],
        [200, 500, 'covered'],
        [500, 700],
      ],
    });
    const b = runOf({
      photo: 1,
      pieces: [
        [50, 300],
        [320, 460],
        [460, 480, 'covered'],
      ],
      joints: [[310, 20, 0.3]],
    });
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(ends(runs[0])).toEqual([
      '0.00 200.00',
      '200.00 300.00',
      '320.00 460.00',
      '460.00 500.00 covered',
      '500.00 700.00',
    ]);
    expect(runs[0].joints.map((j) => j.gapMm.value)).toEqual([20]);
  });

  it('go on as far as another photo shows them, at both ends', () => {
    const a = runOf({
      photo: 0,
      pieces: [
        [300, 400],
        [401, 600],
      ],
      joints: [[400.5, 1, 0.3]],
    });
    const b = runOf({
      photo: 1,
      pieces: [
        [0, 180],
        [190, 500],
        [500, 900],
      ],
      joints: [[185, 10, 0.3]],
    });
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(ends(runs[0])).toEqual(['0.00 180.00', '190.00 300.00', '300.00 400.00', '401.00 600.00', '600.00 900.00']);
    expect(runs[0].jointPlaces.map((p) => p.x)).toEqual([185, 400.5]);
    expect(runs[0].joints.map((j) => j.gapMm.value)).toEqual([10, 1]);
    expect(runs[0].closed).toBe(false);
  });

  it('go on where what covers their end covers it in the other photo too', () => {
    const a = runOf({ photo: 0, pieces: [[0, 400]] });
    const b = runOf({
      photo: 1,
      pieces: [
        [100, 360],
        [360, 560, 'covered'],
        [560, 900],
      ],
    });
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(ends(runs[0])).toEqual(['0.00 400.00', '400.00 560.00 covered', '560.00 900.00']);
  });

  it('close to a loop where another photo shows what lies between the ends of one', () => {
    const a = onCircle(0, [0, 1.5, 3.6]);
    const b = onCircle(1, [3.3, 5, 2 * Math.PI]);
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(runs).toHaveLength(1);
    expect(runs[0].closed).toBe(true);
    const lengthMm = runs[0].pieces.reduce((sum, p) => sum + p.toS - p.fromS, 0);
    expect(Math.abs(lengthMm - 2 * Math.PI * radiusMm)).toBeLessThan(1);
  });

  it('take over a closed joint that only another photo shows, and are cut there', () => {
    const a = runOf({ photo: 0, pieces: [[0, 500]] });
    const b = runOf({
      photo: 1,
      pieces: [
        [0, 250],
        [251, 500],
      ],
      joints: [[250.5, 1, 0.3]],
    });
    const { runs } = mergeRuns([a, b], 0, everywhere);
    expect(ends(runs[0])).toEqual(['0.00 250.00', '251.00 500.00']);
    expect(runs[0].joints).toHaveLength(1);
  });

  it('get no open gap where the first photo sees rails', () => {
    const a = runOf({ photo: 0, pieces: [[0, 500]] });
    const b = runOf({
      photo: 1,
      pieces: [
        [0, 240],
        [260, 500],
      ],
      joints: [[250, 20, 0.3]],
    });
    expect(mergeRuns([a, b], 0, everywhere).runs[0].joints).toEqual([]);
  });

  it('are added from another photo only where the first one does not look', () => {
    const a = runOf({ photo: 0, pieces: [[0, 500]] });
    const b = runOf({ photo: 1, pieces: [[0, 500]], y: 300 });
    expect(mergeRuns([a, b], 0, everywhere).runs.map((r) => r.id)).toEqual(['R1']);
    expect(mergeRuns([a, b], 0, (_, y) => y < 200).runs.map((r) => r.id)).toEqual(['R1', 'R2']);
  });

  it('stay apart, with a warning that names the photos, when the track was moved in between', () => {
    const a = runOf({ photo: 0, pieces: [[0, 500]] });
    const b = runOf({
      photo: 1,
      pieces: [
        [0, 250],
        [251, 700],
      ],
      joints: [[250.5, 1, 0.3]],
      y: 9,
    });
    const { runs, moved } = mergeRuns([a, b], 0, everywhere);
    expect(ends(runs[0])).toEqual(ends(a));
    expect(moved).toEqual([{ photos: [0, 1], apartMm: 9 }]);
    const beside = [0, 1].map((photo) => runOf({ photo, pieces: [[0, 500]], y: 300 + 9 * photo }));
    expect(mergeRuns([a, b, ...beside], 0, everywhere).moved).toHaveLength(1);
    const layout = { photoNames: ['near.jpg', 'far.jpg'], sides: [{}], runs } as never;
    const gauge = { profileMm: 31.75, scale: 1, markerSideMm: 120 };
    const differing = { sides: [], firstSide: 0 };
    const nothing = {
      lying: [],
      unsure: [],
      leftOut: [],
      cropped: [],
      tapesLeftOut: [],
      tapesDoubted: [],
      corners: [],
      differing,
      gauge,
    };
    const [warning] = warningsOf(layout, [], { ...nothing, moved });
    expect(warning.code).toBe('track-moved');
    expect(warning.message).toMatch(/9\.0 mm \(0\.35 in\) apart in near\.jpg and far\.jpg.*Take these photos again/);
  });

  it('stay apart without a word where two cameras are too unsure to tell', () => {
    const a = runOf({ photo: 0, pieces: [[0, 500]] });
    const b = runOf({ photo: 1, pieces: [[0, 700]], y: 9 });
    const unsure = mergeRuns([a, b], 0, everywhere, () => 4);
    expect(unsure.moved).toEqual([]);
    expect(ends(unsure.runs[0])).toEqual(ends(a));
    expect(mergeRuns([a, b], 0, everywhere, () => 1).moved).toHaveLength(1);
  });

  it('have no two gaps on top of each other: the surer one stays, and the rails reach up to it', () => {
    const both = [
      [211, 22, 0.4],
      [233, 28, 1.4],
    ] as const;
    for (const joints of [both, [both[1], both[0]]]) {
      const { runs } = mergeRuns(
        [
          runOf({
            photo: 0,
            pieces: [
              [0, 200],
              [247, 500],
            ],
            joints,
          }),
        ],
        0,
        everywhere,
      );
      expect(runs[0].joints.map((j) => j.gapMm.value)).toEqual([22]);
      expect(ends(runs[0])).toEqual(['0.00 200.00', '222.00 500.00']);
    }
  });

  it('are left as they are by a single photo', () => {
    const a = runOf({
      photo: 0,
      pieces: [
        [0, 200],
        [200, 300, 'covered'],
      ],
      joints: [[100, 1, 0.3]],
    });
    expect(mergeRuns([a], 0, everywhere)).toEqual({ runs: [{ ...a, id: 'R1' }], moved: [] });
  });
});
