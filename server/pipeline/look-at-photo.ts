import { type PhotoLook, type PhotoRemark, photoRemarks } from '../contract/photo-look.js';
import type { Camera } from '../geometry/camera.js';
import type { MarkerDetection } from '../scene/marker-detection.js';
import type { Photo } from '../scene/photo.js';
import { outsideFaceOffsetMm, type TrackProfile } from '../scene/track-profile.js';
import { croppingOf } from '../stages/camera/cropped-photo.js';
import { startCamera } from '../stages/camera/start-camera.js';
import { detectMarkers } from '../stages/markers/detect-markers.js';
import { firstLook, patchesOf, remarksOn } from '../stages/photo/first-look.js';
import { isWholeTableInPicture } from '../stages/table-edge/table-in-picture.js';

/** Flatter views spread the far end of the table over few pixels. Common practice, no source. */
const flattestRad = (50 * Math.PI) / 180;
/** A marker whose sides are shorter holds the camera badly, pixels: its corners are known to 0.1 px. */
const smallestMarkerPx = 90;

/**
 * Judges one photo before it is measured: sharpness and light, markers, how steep the view is, whether the whole table is
 * in. One or two seconds for 12 Mpx.
 * @param markerSideMm as the table's settings have it; the judgement hardly depends on it
 */
export async function lookAtPhoto(photo: Photo, markerSideMm: number, track: TrackProfile): Promise<PhotoLook> {
  const light = firstLook(patchesOf(photo.raster));
  const detected = await detectMarkers(photo, { borderModules: 1 });
  const markers = detected.ok ? detected.value : [];
  const started = startCamera([photo], [markers], markerSideMm);
  const camera = started.ok ? started.value.state.cameras[0] : null;
  const tiltRad = camera && tiltOf(camera);
  const wholeTable = camera && wholeTableIn(photo, camera, markers, track);
  const found = new Set<PhotoRemark>(remarksOn(light));
  if (markers.length === 0) found.add('no-marker');
  else if (Math.max(...markers.map(sidePx)) < smallestMarkerPx) found.add('small-marker');
  if (markers.some((m) => m.clippedWhite)) found.add('glare');
  if (croppingOf(photo)) found.add('cropped');
  if (tiltRad !== null && tiltRad > flattestRad) found.add('flat');
  if (wholeTable === false) found.add('table-cut');
  return {
    remarks: photoRemarks.filter((r) => found.has(r)),
    markers: markers.map((m) => m.id).sort((a, b) => a - b),
    tiltRad,
    wholeTable,
    edgeWidthPx: light.edgeWidthPx,
  };
}

/** Angle between the camera's axis and straight down. */
function tiltOf({ cameraFromTable }: Camera): number {
  return Math.acos(Math.min(1, Math.abs(cameraFromTable.rotation[8])));
}

function wholeTableIn(
  photo: Photo,
  camera: Camera,
  markers: readonly MarkerDetection[],
  track: TrackProfile,
): boolean | null {
  const { railTopMm } = track;
  return isWholeTableInPicture({
    photo,
    camera,
    markers,
    trackInTable: [],
    railTopMm,
    halfTrackMm: outsideFaceOffsetMm(track),
  });
}

/** Mean length of a marker's sides in the photo. */
function sidePx({ cornersInPhoto: c }: MarkerDetection): number {
  return c.reduce((sum, p, i) => sum + Math.hypot(c[(i + 1) % 4].x - p.x, c[(i + 1) % 4].y - p.y), 0) / 4;
}
