import type { Camera } from '../../geometry/camera.js';
import type { SolvedTable } from '../../scene/solved-table.js';
import type { View } from './camera-part.js';
import { extended, type Information, invertedSymmetric } from './information.js';
import { observeSides, observeTrack } from './seen-lines.js';
import { observeMarker, showsMarker } from './seen-marker.js';

/** What would be known with one thing more: the table as solved, and the covariance that it would have. */
export interface WhatIf {
  readonly solved: SolvedTable;
  /** By the layout of `solved`. */
  readonly covariance: Float64Array;
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/** A photo that is already there, as a view. */
export function viewOf(solved: SolvedTable, photo: number): View {
  return {
    camera: solved.cameras[photo],
    sizePx: solved.photoSizesPx[photo],
    lensAt: solved.layout.lens[solved.lensOfPhoto[photo]],
    poseAt: solved.layout.pose[photo],
  };
}

/** The inverse of the covariance, made once for all trials; null where there is none. */
export function informationOf({ covariance, layout }: SolvedTable): Information | null {
  const matrix = invertedSymmetric(covariance, layout.count);
  return matrix && { matrix, count: layout.count };
}

/**
 * One more marker sheet at a place, the same photos taken again: its corners join the normal equations with its three
 * unknowns, which are taken out again.
 * @returns null where no photo would show it whole
 */
export function withMarker(solved: SolvedTable, known: Information, at: Place): WhatIf | null {
  const marker = { x: at.x, y: at.y, turnRad: 0 };
  const views = solved.cameras
    .map((_, i) => viewOf(solved, i))
    .filter((v) => showsMarker(v, marker, solved.markerSideMm));
  if (views.length === 0) return null;
  const all = extended(known, 3);
  for (const view of views) observeMarker(all, solved, view, marker, known.count);
  const covariance = invertedSymmetric(all.matrix, all.count);
  if (!covariance) return null;
  return { solved, covariance: leading(covariance, all.count, known.count) };
}

/**
 * One more photo with the same phone: markers, table sides and track as they are, seen by a camera of which nothing is
 * known beforehand.
 * @returns null where it would show no marker, so that it could not be joined to the others
 */
export function withPhoto(
  solved: SolvedTable,
  known: Information,
  camera: Camera,
): (WhatIf & { markers: number[] }) | null {
  const { layout, primary } = solved;
  const view: View = {
    camera,
    sizePx: solved.photoSizesPx[primary],
    lensAt: layout.lens[solved.lensOfPhoto[primary]],
    poseAt: layout.count,
  };
  const shown = solved.markers
    .map((_, i) => i)
    .filter((i) => showsMarker(view, solved.markers[i], solved.markerSideMm));
  if (shown.length === 0) return null;
  const all = extended(known, 6);
  for (const i of shown) observeMarker(all, solved, view, solved.markers[i], layout.marker[i]);
  observeSides(all, solved, view);
  observeTrack(all, solved, view);
  const covariance = invertedSymmetric(all.matrix, all.count);
  if (!covariance) return null;
  const more: SolvedTable = {
    ...solved,
    cameras: [...solved.cameras, camera],
    lensOfPhoto: [...solved.lensOfPhoto, solved.lensOfPhoto[primary]],
    photoSizesPx: [...solved.photoSizesPx, view.sizePx],
    quality: { ...solved.quality, readingPx: [...solved.quality.readingPx, solved.quality.readingPx[primary]] },
    layout: { ...layout, pose: [...layout.pose, layout.count], count: all.count },
  };
  return { solved: more, covariance, markers: shown.map((i) => solved.markers[i].id) };
}

function leading(matrix: Float64Array, n: number, kept: number): Float64Array {
  const out = new Float64Array(kept * kept);
  for (let i = 0; i < kept; i++) out.set(matrix.subarray(i * n, i * n + kept), i * kept);
  return out;
}

/** The same without what is known of where markers lie: they stand last among the unknowns. */
export function withoutMarkers(solved: SolvedTable): SolvedTable {
  const { layout, covariance } = solved;
  const count = Math.min(layout.count, ...layout.marker);
  return { ...solved, layout: { ...layout, marker: [], count }, covariance: leading(covariance, layout.count, count) };
}
