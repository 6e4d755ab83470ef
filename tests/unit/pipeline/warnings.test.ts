import { describe, expect, it } from 'vitest';
import type { Coverage } from '../../../server/contract/coverage.js';
import { coverageAdvice, warningStyle } from '../../../server/contract/coverage-words.js';
import { gaugeWarnings, sideWarnings, warningsOf } from '../../../server/pipeline/warnings.js';
import type { MarkerDetection } from '../../../server/scene/marker-detection.js';
import type { MeasuredLayout, MeasuredSide } from '../../../server/scene/measured-layout.js';
import { tallTrack } from '../../../server/scene/track-profile.js';
import { madeCoverage } from '../../support/made-coverage.js';

const layout: MeasuredLayout = {
  // From straight above, two pixels to the millimetre, the origin in the middle.
  cameras: [
    {
      lens: { fx: 4000, fy: 4000, cx: 2015.5, cy: 1511.5, k1: 0, k2: 0, p1: 0, p2: 0 },
      cameraFromTable: { rotation: [1, 0, 0, 0, -1, 0, 0, 0, -1], translation: [0, 0, 2000] },
    },
  ],
  photoNames: ['a.jpg'],
  photoSizesPx: [[4032, 3024]],
  track: tallTrack,
  railTopOffMm: 0,
  runs: [],
  sides: [{ name: 'A' } as MeasuredSide],
  arcCovariance: () => null,
};
const seen = (...ids: number[]) => [ids.map((id) => ({ id }) as MarkerDetection)];
const gauge = { profileMm: 31.75, scale: 1.002, markerSideMm: 120 };
const found = {
  lying: [],
  unsure: [],
  moved: [],
  leftOut: [],
  cropped: [],
  tapesLeftOut: [],
  corners: [],
  differing: { sides: [], firstSide: 0 },
  tapesDoubted: [],
  gauge,
} as const;
const coverage = madeCoverage(1830, 1220, [900, 650]);

function warned(ids: number[], known: Coverage | undefined): { code: string; message: string }[] {
  return warningsOf(layout, seen(...ids), { ...found, coverage: known } as unknown as Parameters<typeof warningsOf>[2]);
}

describe('the warning of photos without a marker', () => {
  it.each([
    [['end.jpg'], 'in end.jpg: that photo was left out', 'Take it again'],
    [['end.jpg', 'far.jpg'], 'in end.jpg and far.jpg: those photos were left out', 'Take them again'],
  ])('names %j', (leftOut, said, next) => {
    const warnings = warningsOf(layout, seen(3, 4), { ...found, leftOut });
    expect(warnings[0].code).toBe('photo-left-out');
    expect(warnings[0].message).toContain(said);
    expect(warnings[0].message).toContain(next);
  });
});

describe('warnings about how sure the lengths are', () => {
  const advice = coverageAdvice(coverage, warningStyle);

  it('name with one marker the same photo or marker as the coverage picture', () => {
    expect(warned([3], coverage)).toEqual([{ code: 'one-marker', message: `Only one marker was seen. ${advice}` }]);
    expect(advice).toMatch(/near the right end of side B .* to ± 0\.8 mm\.$/);
  });

  it('say in general what a second marker is good for where no table edge was found', () => {
    const [only] = warned([3], undefined);
    expect(only.message).toMatch(/^Only one marker was seen\. A second marker sheet/);
  });

  it('tell of a clearance that is less sure than 1.6 mm, with what would help, however many markers there are', () => {
    expect(warned([3, 4], coverage)).toEqual([
      { code: 'unsure-clearance', message: `Not every clearance is sure. ${advice}` },
    ]);
  });

  it('are silent where every clearance is sure', () => {
    const near = { side: 'A', part: 'left' } as const;
    expect(warned([3, 4], { ...coverage, leastSure: { what: 'clearance', near, u: 0.8 } })).toEqual([]);
    expect(warned([3, 4], { ...coverage, leastSure: { what: 'side', near, u: 2 } })).toEqual([]);
  });
});

describe('a warning about sides that cannot be those of a rectangle', () => {
  /** Side B 900 mm long, side D opposite, both known to uMm across and along. */
  const warnedOf = (lengthOfD: number, uMm: number, open = false): string[] => {
    const middles = [
      [800, 0, 0],
      [1600, 450, Math.PI / 2],
      [800, 900, Math.PI],
      [0, 450, -Math.PI / 2],
    ];
    const sides = middles.map(([x, y, headingRad], i): MeasuredSide => {
      const half = [800, 450, 800, lengthOfD / 2][i];
      const arc = { x, y, headingRad, curvaturePerMm: 0, halfLengthMm: half };
      const corner = !(open && i === 3);
      return { name: 'ABCD'[i], arc, arcIndex: i, fromS: -half, toS: half, fromCorner: corner, toCorner: corner };
    });
    const own = [uMm ** 2, 0, 0, 0, uMm ** 2, 0, 0, 0, 0];
    const arcCovariance = (a: number, b: number) => (a === b ? own : own.map(() => 0));
    return sideWarnings({ sides, arcCovariance }).map((w) => w.message);
  };

  it('names the longer and the shorter side and what to do', () => {
    const [message, ...others] = warnedOf(923, 0.6);
    expect(message).toMatch(
      /^Side D measures 23 mm \(7\/8 in\) longer than side B, opposite\. .*correct the wrong one by hand\.$/,
    );
    expect(others).toEqual([]);
    expect(warnedOf(890, 0.6)[0]).toMatch(/^Side B measures 10 mm \(\S+ in\) longer than side D/);
  });

  it('is silent about what the uncertainty or a carpenter explains, and about sides that leave the picture', () => {
    expect(warnedOf(904, 0.1)).toEqual([]);
    expect(warnedOf(923, 4)).toEqual([]);
    expect(warnedOf(923, 0.6, true)).toEqual([]);
  });
});

describe('a warning about the ends of runs', () => {
  const run = (id: string, closed: boolean, alongUMm?: number, x = 0): MeasuredLayout['runs'][number] => ({
    id,
    closed,
    photo: 0,
    pieces: [
      {
        arc: { x, y: 0, headingRad: 0, curvaturePerMm: 0, halfLengthMm: 100 },
        arcIndex: 0,
        straight: true,
        seen: true,
        fromS: -100,
        toS: 100,
        alongUMm,
      },
    ],
    joints: [],
    jointPlaces: [],
    hidden: [],
  });
  const warnedOf = (runs: MeasuredLayout['runs']): { code: string; message: string }[] =>
    warningsOf({ ...layout, runs }, seen(3, 4), found as unknown as Parameters<typeof warningsOf>[2]);

  it('names the runs of which an end was not seen', () => {
    const warnings = warnedOf([run('R1', false, 0.2), run('R2', false, 8), run('R3', true)]);
    expect(warnings.map((w) => w.code)).toEqual(['run-end-unclear']);
    expect(warnings[0].message).toContain('for R2:');
  });

  it('says of track that goes out of the picture that it does, and to take one more photo', () => {
    // The picture ends 990 mm from the middle.
    const warnings = warnedOf([run('R1', false, 8), run('R2', false, 8, 880), run('R3', false, 8, -880)]);
    expect(warnings.map((w) => w.code)).toEqual(['run-end-unclear', 'run-leaves-picture']);
    // One end of these two is in the picture, where it was not seen either.
    expect(warnings[0].message).toContain('for R1 and R2 and R3:');
    expect(warnings[1].message).toMatch(/^Track of R2 and R3 goes out of the picture\. .* Take one more photo/);
  });

  it('is silent where all ends were seen', () => {
    expect(warnedOf([run('R1', false, 0.2), run('R2', false, 1.5), run('R3', true)])).toEqual([]);
  });
});

describe('a warning about the size of the markers', () => {
  it('names the side that would fit, where the rails lie too near each other or too far apart', () => {
    const [shrunk] = gaugeWarnings({ ...gauge, scale: 0.9733, markerSideMm: 146 });
    expect(shrunk.code).toBe('gauge-differs');
    expect(shrunk.message).toContain('30.9 mm (1.22 in) apart where the track profile says 31.75 mm');
    expect(shrunk.message).toContain('If it is 150.0 mm and not 146.0 mm');
    expect(gaugeWarnings({ ...gauge, scale: 1.03 })[0].message).toContain('wrong by 3.0 %');
  });

  it('is silent where track may well be so', () => {
    for (const scale of [0.993, 1, 1.008]) expect(gaugeWarnings({ ...gauge, scale })).toEqual([]);
  });
});
