import { describe, expect, it } from 'vitest';
import { type Camera, photoFromTable } from '../../../server/geometry/camera.js';
import { multiply3, rotationFromVector } from '../../../server/geometry/rotation.js';
import { judgeMarkers } from '../../../server/pipeline/judge-markers.js';
import { markerWarnings, reasonsOf } from '../../../server/pipeline/warnings.js';
import { markerCornerInTable, type PlacedMarker } from '../../../server/scene/placed-marker.js';
import { tallTrack } from '../../../server/scene/track-profile.js';
import { adjust, type MarkerObservation } from '../../../server/stages/camera/adjustment.js';
import type { AdjustmentState } from '../../../server/stages/camera/adjustment-state.js';
import type { StartCamera } from '../../../server/stages/camera/start-camera.js';
import { seededRandom } from '../../support/seeded-random.js';

const sideMm = 100;
const lens = { fx: 3000, fy: 3000, cx: 2015.5, cy: 1511.5, k1: -0.03, k2: 0.01, p1: 0, p2: 0 };
const looking = (rx: number, ry: number, x: number, y: number): Camera => ({
  lens,
  cameraFromTable: {
    rotation: multiply3(rotationFromVector(rx, ry, 0), [1, 0, 0, 0, -1, 0, 0, 0, -1]),
    translation: [x, y, 1900],
  },
});
const cameras = [looking(0.2, 0.05, -20, 30), looking(-0.15, 0.12, 40, -60)];
const sheets: PlacedMarker[] = [
  { id: 4, x: 0, y: 0, turnRad: 0 },
  { id: 7, x: 620, y: 240, turnRad: 0.5 },
  { id: 9, x: -560, y: -310, turnRad: -0.8 },
  { id: 12, x: 480, y: -330, turnRad: 2.1 },
];

interface Told {
  readonly photos: number;
  readonly markers: number;
  /** Heights of the four corners of a sheet, millimetres. */
  readonly heights?: Record<number, readonly number[]>;
  /** How far a sheet lies aside in the second photo, millimetres. */
  readonly movedMm?: Record<number, number>;
}

/** What is seen of sheets on a table, with 0.02 px of noise, as the pipeline hands it on. */
function seen({ photos, markers, heights = {}, movedMm = {} }: Told): StartCamera {
  const random = seededRandom(20261125);
  const placed = sheets.slice(0, markers);
  const markerObservations: MarkerObservation[] = cameras.slice(0, photos).flatMap((camera, photo) =>
    placed.map((m, marker) => ({
      photo,
      marker,
      sigmaPx: 0.05,
      cornersPx: [0, 1, 2, 3].map((k) => {
        const [x, y] = markerCornerInTable(m, sideMm, k);
        const p = photoFromTable(camera, x + photo * (movedMm[m.id] ?? 0), y, heights[m.id]?.[k] ?? 0);
        const noise = () => 0.02 * Math.sqrt(12) * (random() - 0.5);
        return [p.x + noise(), p.y + noise()] as const;
      }),
    })),
  );
  const state: AdjustmentState = {
    lenses: [lens],
    lensOfPhoto: cameras.slice(0, photos).map(() => 0),
    cameras: cameras.slice(0, photos),
    markers: placed,
    arcs: [],
    straight: [],
    printScale: 1,
    gaugeScale: 1,
    railTopOffMm: 0,
  };
  return {
    state,
    markerObservations,
    focalPrior: [{ valuePx: 3000, uPx: 45 }],
    principalPoints: [{ xPx: 2015.5, yPx: 1511.5, uPx: [12, 12] }],
    cropped: [],
  };
}

const judge = (told: Told) => {
  const start = seen(told);
  const solve = (from: StartCamera, state: AdjustmentState) =>
    adjust({
      ...from,
      state,
      markerSideMm: sideMm,
      track: tallTrack,
      lineObservations: [],
      tapes: [],
      robustWidth: 2,
      maxIterations: 40,
    });
  return judgeMarkers(start, start.state, sideMm, solve(start, start.state), solve);
};

describe('judging markers', () => {
  it('keeps sheets that lie flat and still, in one photo and in two', () => {
    for (const photos of [1, 2])
      for (const markers of [1, 2, 3, 4]) expect(judge({ photos, markers })).toMatchObject({ lying: [], unsure: [] });
  });

  it('keeps sheets that bulge by as much as paper does', () => {
    expect(judge({ photos: 1, markers: 4, heights: { 7: [0.1, 0, 0.15, 0] } }).lying).toEqual([]);
  });

  it('sets a sheet aside whose corner stands up, and keeps the others', () => {
    for (const id of [4, 7, 9, 12]) {
      const judged = judge({ photos: 1, markers: 4, heights: { [id]: [0, 6, 0, 0] } });
      expect(judged.lying).toEqual([{ id, kind: 'not-flat', aside: true }]);
      expect(judged.state.markers.map((m) => m.id)).toEqual(sheets.map((m) => m.id).filter((n) => n !== id));
      expect(judged.start.markerObservations.map((o) => o.marker)).toEqual([0, 1, 2]);
    }
  });

  it('sets two curled sheets aside, one after the other', () => {
    const heights = { 7: [0, 9, 0, 0], 9: [8, 0, 0, 3] };
    const judged = judge({ photos: 2, markers: 4, heights });
    expect(judged.lying.map((m) => m.id).sort()).toEqual([7, 9]);
  });

  it('doubts the only marker, but keeps it with a wider sigma', () => {
    const judged = judge({ photos: 1, markers: 1, heights: { 4: [0, 30, 0, 0] } });
    expect(judged.lying).toEqual([{ id: 4, kind: 'not-flat', aside: false }]);
    expect(judged.start.markerObservations[0].sigmaPx).toBeGreaterThan(0.1);
    expect(reasonsOf(judged.lying).size).toBe(0);
  });

  it('tells a sheet that was moved between two photos from one that is curled', () => {
    const judged = judge({ photos: 2, markers: 4, movedMm: { 9: 12 } });
    expect(judged.lying).toEqual([{ id: 9, kind: 'moved', aside: true }]);
  });

  it('blames no marker where two say one thing each', () => {
    const judged = judge({ photos: 2, markers: 2, movedMm: { 7: 12 } });
    expect(judged).toMatchObject({ lying: [], unsure: [4, 7] });
  });

  it('says which photos and sheets are meant, and what to do', () => {
    const detections = [[{ id: 4 }, { id: 7 }], [{ id: 4 }]] as never;
    const lying = [{ id: 4, kind: 'moved', aside: true }] as const;
    const [moved] = markerWarnings({ lying, unsure: [] }, ['a.jpg', 'b.jpg'], detections);
    expect(moved.code).toBe('marker-moved');
    expect(moved.message).toMatch(/Marker 4 .*a\.jpg, b\.jpg.*Take these photos again/);
    const [either] = markerWarnings({ lying: [], unsure: [4, 7] }, ['a.jpg', 'b.jpg'], detections);
    expect(either.message).toMatch(/a\.jpg, b\.jpg disagree about where markers 4 and 7 lie/);
  });
});
