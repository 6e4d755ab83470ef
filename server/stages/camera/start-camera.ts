import { failed, ok, type Result } from '../../base/result.js';
import { type Problem, problem } from '../../contract/problems.js';
import { type Camera, focalPxFrom35mm, type Lens, type Pose, tableFromPhotoAtHeight } from '../../geometry/camera.js';
import { multiply3 } from '../../geometry/rotation.js';
import type { MarkerDetection } from '../../scene/marker-detection.js';
import type { Photo } from '../../scene/photo.js';
import type { PlacedMarker } from '../../scene/placed-marker.js';
import type { MarkerObservation, PrincipalPoint } from './adjustment.js';
import type { AdjustmentState } from './adjustment-state.js';
import { type Cropping, croppingOf, unknownCropping } from './cropped-photo.js';
import { poseFromMarker } from './marker-pose.js';

export interface StartCamera {
  readonly state: AdjustmentState;
  readonly markerObservations: readonly MarkerObservation[];
  readonly focalPrior: readonly { readonly valuePx: number; readonly uPx: number }[];
  readonly principalPoints: readonly PrincipalPoint[];
  /** Photos of which a part was cut away after they were taken, by number. */
  readonly cropped: readonly number[];
}

/** How far the axis of a phone's lens meets its picture from the middle; from memory of published calibrations. */
const wholeCentreUPx = 12;

/** 26 mm is what most main phone cameras have; common practice, no source. */
const usualFocalLength35mm = 26;

/**
 * Places every photo's camera and every marker in one table frame, roughly: from EXIF focal lengths and marker corners.
 * The frame's origin is the middle of the first marker (the largest of the first photo).
 * Problems: no-marker, camera-not-solved, photos-share-no-marker.
 * @param doubted what files and shapes of photos say that is known to be wrong
 */
export function startCamera(
  photos: readonly Photo[],
  detections: readonly (readonly MarkerDetection[])[],
  markerSideMm: number,
  doubted: DoubtedLenses = noDoubts,
): Result<StartCamera, Problem> {
  const croppings = photos.map((p, i) => croppingOf(p) ?? (doubted.cropped.includes(i) ? unknownCropping(p) : null));
  const lenses = groupLenses(photos, croppings, doubted.focalUntold);
  const placed = new Map<number, PlacedMarker>();
  const cameras: (Camera | null)[] = photos.map(() => null);
  for (let i = 0; i < photos.length; i++)
    if (detections[i].length === 0) return failed(problem('no-marker', { name: photos[i].name }));
  const first = bySize(detections[0])[0];
  placed.set(first.id, { id: first.id, x: 0, y: 0, turnRad: 0 });
  let waiting = photos.map((_, i) => i);
  while (waiting.length > 0) {
    const next = waiting.find((i) => detections[i].some((d) => placed.has(d.id)));
    if (next === undefined) {
      const names = waiting.map((i) => photos[i].name).join(', ');
      return failed(problem('photos-share-no-marker', { names }));
    }
    const lens = lenses.lenses[lenses.lensOfPhoto[next]];
    const known = bySize(detections[next]).find((d) => placed.has(d.id)) as MarkerDetection;
    const pose = poseFromMarker(lens, corners(known), markerSideMm);
    if (!pose) return failed(problem('camera-not-solved', { name: photos[next].name }));
    const camera: Camera = { lens, cameraFromTable: poseInTable(pose, placed.get(known.id) as PlacedMarker) };
    cameras[next] = camera;
    for (const d of detections[next]) if (!placed.has(d.id)) placed.set(d.id, placeMarker(camera, d));
    waiting = waiting.filter((i) => i !== next);
  }
  const markers = [...placed.values()];
  const markerObservations = detections.flatMap((list, photo) =>
    list.map((d) => ({
      photo,
      marker: markers.findIndex((m) => m.id === d.id),
      cornersPx: corners(d),
      sigmaPx: Math.max(d.sigmaPx, 0.05),
    })),
  );
  return ok({
    state: {
      lenses: lenses.lenses,
      lensOfPhoto: lenses.lensOfPhoto,
      cameras: cameras as Camera[],
      markers,
      arcs: [],
      straight: [],
      printScale: 1,
      gaugeScale: 1,
      railTopOffMm: 0,
    },
    markerObservations,
    focalPrior: lenses.prior,
    principalPoints: lenses.principal,
    cropped: croppings.flatMap((cropping, i) => (cropping ? [i] : [])),
  });
}

function corners(d: MarkerDetection): [number, number][] {
  return d.cornersInPhoto.map((p) => [p.x, p.y]);
}

function bySize(list: readonly MarkerDetection[]): MarkerDetection[] {
  const size = (d: MarkerDetection): number =>
    Math.hypot(d.cornersInPhoto[2].x - d.cornersInPhoto[0].x, d.cornersInPhoto[2].y - d.cornersInPhoto[0].y);
  return [...list].sort((a, b) => size(b) - size(a) || a.id - b.id);
}

/** camera-from-table when the pose is camera-from-marker: shifts and turns the table into the marker's frame. */
function poseInTable(pose: Pose, marker: PlacedMarker): Pose {
  const c = Math.cos(marker.turnRad);
  const s = Math.sin(marker.turnRad);
  // x_marker = T (x_table − place), T turns by −turnRad.
  const rotation = multiply3(pose.rotation, [c, s, 0, -s, c, 0, 0, 0, 1]);
  const t = [0, 1, 2].map((i) => pose.translation[i] - rotation[3 * i] * marker.x - rotation[3 * i + 1] * marker.y) as [
    number,
    number,
    number,
  ];
  return { rotation, translation: t };
}

function placeMarker(camera: Camera, d: MarkerDetection): PlacedMarker {
  const p = d.cornersInPhoto.map((q) => tableFromPhotoAtHeight(camera, q.x, q.y, 0));
  const x = (p[0].x + p[1].x + p[2].x + p[3].x) / 4;
  const y = (p[0].y + p[1].y + p[2].y + p[3].y) / 4;
  return { id: d.id, x, y, turnRad: Math.atan2(p[1].y - p[0].y + p[2].y - p[3].y, p[1].x - p[0].x + p[2].x - p[3].x) };
}

interface LensGroups {
  readonly lenses: Lens[];
  readonly lensOfPhoto: number[];
  readonly prior: { valuePx: number; uPx: number }[];
  readonly principal: PrincipalPoint[];
}

/** One lens per (make, model, focal length, zoom, picture size); a cropped photo has its own. */
function groupLenses(
  photos: readonly Photo[],
  croppings: readonly (Cropping | null)[],
  focalUntold: readonly number[],
): LensGroups {
  const keys: string[] = [];
  const groups: LensGroups = { lenses: [], lensOfPhoto: [], prior: [], principal: [] };
  for (const [i, photo] of photos.entries()) {
    const { widthPx, heightPx } = photo.raster;
    const { make, model, focalLength35mm, focalLengthMm, digitalZoomRatio } = photo.exif;
    const cropping = croppings[i];
    const lens = [make, model, focalLength35mm, focalLengthMm, digitalZoomRatio, widthPx, heightPx];
    const key = JSON.stringify(cropping ? [...lens, i] : lens);
    let at = keys.indexOf(key);
    if (at < 0) {
      at = keys.push(key) - 1;
      const said =
        focalLength35mm !== null && focalLength35mm >= 10 && focalLength35mm <= 200 && !focalUntold.includes(i);
      const larger = cropping ? cropping.diagonalPx / Math.hypot(widthPx, heightPx) : 1;
      const f = larger * focalPxFrom35mm(said ? focalLength35mm : usualFocalLength35mm, widthPx, heightPx);
      const cx = (widthPx - 1) / 2;
      const cy = (heightPx - 1) / 2;
      groups.lenses.push({ fx: f, fy: f, cx, cy, k1: -0.03, k2: 0.01, p1: 0, p2: 0 });
      groups.prior.push({ valuePx: f, uPx: Math.hypot(said ? 0.015 : 0.2, cropping?.diagonalUShare ?? 0) * f });
      groups.principal.push({ xPx: cx, yPx: cy, uPx: cropping?.centreUPx ?? [wholeCentreUPx, wholeCentreUPx] });
    }
    groups.lensOfPhoto.push(at);
  }
  return groups;
}

/** What photos were taken for whole, or told of their lens, wrongly; photos by number. */
export interface DoubtedLenses {
  readonly cropped: readonly number[];
  readonly focalUntold: readonly number[];
}

export const noDoubts: DoubtedLenses = { cropped: [], focalUntold: [] };

/** What is seen does not draw a lens farther than this from what is true of it, in standard uncertainties. */
const farthestFocal = 4.5;
const farthestCentre = 3.5;

/**
 * Which photos must be taken otherwise, as what was seen in them draws the lens far from what was expected: the focal length
 * that the file tells is that of another picture, or else the photo was cropped. Null where all is as expected.
 * @param doubted what is known to be wrong already
 */
export function doubtedByLook(
  { principalPoints, focalPrior, cropped }: StartCamera,
  { cameras, lensOfPhoto }: AdjustmentState,
  doubted: DoubtedLenses,
): DoubtedLenses | null {
  const photos = Array.from(cameras.keys());
  const focal = photos.filter((photo) => {
    const { valuePx, uPx } = focalPrior[lensOfPhoto[photo]];
    return Math.abs(cameras[photo].lens.fx - valuePx) > farthestFocal * uPx && !doubted.focalUntold.includes(photo);
  });
  if (focal.length > 0) return { ...doubted, focalUntold: [...doubted.focalUntold, ...focal] };
  const offCentre = photos.filter((photo) => {
    const { xPx, yPx, uPx } = principalPoints[lensOfPhoto[photo]];
    const { cx, cy } = cameras[photo].lens;
    const off = Math.max(Math.abs(cx - xPx) / uPx[0], Math.abs(cy - yPx) / uPx[1]);
    return off > farthestCentre && !cropped.includes(photo);
  });
  return offCentre.length > 0 ? { ...doubted, cropped: [...doubted.cropped, ...offCentre] } : null;
}
