import type { Camera } from '../../geometry/camera.js';
import { cameraCentreInTable } from '../../geometry/camera.js';
import type { Raster } from '../../images/raster.js';
import type { CentreLine, RailJoint } from '../../scene/rail-joint.js';
import type { TrackProfile } from '../../scene/track-profile.js';
import { placeAt, type RailStrip, unrollRails } from './rail-strips.js';
import { makeTemplate, medianOf, templateAt } from './strip-template.js';

const stepMm = 0.25;

/** Least distance between two joints: the shortest piece of track that carries a tie. Common practice, no source. */
const apartMm = 28;

/**
 * Finds closed joints as thin dark slits that all rails show at the same place: in the head, and in the flange, which
 * lies lower and so appears shifted along the track by the slant of the view.
 */
export function findSlits(
  raster: Raster,
  camera: Camera,
  track: TrackProfile,
  line: CentreLine,
  fromS: number,
  toS: number,
): RailJoint[] {
  const head = unrollRails(raster, camera, track, line, fromS, toS, {
    stepMm,
    halfWidthMm: track.headWidthMm * 0.45,
    acrossStepMm: 0.3,
    heightMm: track.railTopMm - track.headWidthMm / 4,
  });
  const darkening = head.map((strip) => darkeningOf(strip, () => true));
  if (track.flangeWidthMm !== null && track.flangeTopMm !== null) {
    const half = track.flangeWidthMm / 2;
    const flange = unrollRails(raster, camera, track, line, fromS, toS, {
      stepMm,
      halfWidthMm: half - 0.4,
      acrossStepMm: 0.3,
      heightMm: track.flangeTopMm,
    });
    const centre = cameraCentreInTable(camera.cameraFromTable);
    const drop = track.railTopMm - track.headWidthMm / 2 - track.flangeTopMm;
    flange.forEach((strip, r) => {
      const d = darkeningOf(strip, (row, across) => {
        const p = placeAt(line, fromS + row * stepMm);
        const slope =
          (-(centre[0] - p.x) * Math.sin(p.headingRad) + (centre[1] - p.y) * Math.cos(p.headingRad)) / centre[2];
        // Hidden under the head: the head covers its own width, shifted away from the camera.
        return Math.abs(across + drop * slope) > track.headWidthMm / 2 + 0.5;
      });
      for (let i = 0; i < d.length; i++) darkening[r][i] = (darkening[r][i] + d[i]) / Math.SQRT2;
    });
  }
  return pickSlits(darkening, fromS);
}

/** Darkening of each row against the rail's usual look, in units of its own scatter. */
function darkeningOf(strip: RailStrip, seen: (row: number, acrossMm: number) => boolean): Float32Array {
  const { rows, columns, data } = strip;
  const template = makeTemplate(strip, 50);
  const raw = new Float32Array(rows);
  const middle = (columns - 1) / 2;
  for (let i = 0; i < rows; i++) {
    const t = templateAt(template, i);
    let sum = 0;
    let n = 0;
    for (let k = 0; k < columns; k++) {
      if (i % 8 === 0 && !seen(i, (k - middle) * strip.acrossStepMm)) continue;
      if (i % 8 !== 0 && !seen(i - (i % 8), (k - middle) * strip.acrossStepMm)) continue;
      const v = data[i * columns + k];
      if (Number.isNaN(v)) continue;
      sum += Math.max(-0.3, Math.min(0.6, t[k] - Math.sqrt(v)));
      n++;
    }
    raw[i] = n > 0 ? sum / n : 0;
  }
  const smooth = new Float32Array(rows);
  for (let i = 0; i < rows; i++) {
    let sum = 0;
    let n = 0;
    for (let d = -2; d <= 2; d++)
      if (i + d >= 0 && i + d < rows) {
        sum += raw[i + d];
        n++;
      }
    smooth[i] = sum / n;
  }
  return inOwnScatter(smooth);
}

function inOwnScatter(values: Float32Array): Float32Array {
  const out = new Float32Array(values.length);
  const window = Math.round(60 / stepMm);
  for (let start = 0; start < values.length; start += window) {
    const near = Array.from(
      values.subarray(Math.max(0, start - window / 2), Math.min(values.length, start + 1.5 * window)),
    );
    const level = medianOf(near);
    const scatter = 1.4826 * medianOf(near.map((v) => Math.abs(v - level))) + 1e-3;
    for (let i = start; i < Math.min(values.length, start + window); i++) {
      // Slits are narrower than 4 mm and bright on both sides; shadows and ties are wider and are not counted.
      const reach = Math.round(3 / stepMm);
      const around = Math.max(values[Math.max(0, i - reach)], values[Math.min(values.length - 1, i + reach)]);
      out[i] = Math.max(-8, Math.min(14, (values[i] - Math.max(level, around)) / scatter));
    }
  }
  return out;
}

function pickSlits(darkening: readonly Float32Array[], fromS: number): RailJoint[] {
  const rows = darkening[0].length;
  const joint = new Float32Array(rows);
  const skew = Math.round(0.5 / stepMm);
  for (let i = skew; i < rows - skew; i++) {
    const best = darkening.map((d) => {
      let m = d[i];
      for (let k = -skew; k <= skew; k++) m = Math.max(m, d[i + k]);
      return m;
    });
    const least = Math.min(...best);
    if (least < 1.2) continue;
    joint[i] = best.reduce((a, b) => a + b, 0) / Math.sqrt(best.length);
  }
  const picked: RailJoint[] = [];
  const order = Array.from(joint.keys())
    .filter((i) => joint[i] > 7.5)
    .sort((a, b) => joint[b] - joint[a]);
  for (const i of order) {
    const s = fromS + i * stepMm;
    if (picked.some((p) => Math.abs(p.s - s) < apartMm)) continue;
    picked.push({ s, open: false, gapMm: { value: 1, u: 0.5 }, railsMm: [null, null, null] });
  }
  return picked;
}
