/**
 * Cross-section of a track, millimetres. Offsets are from the centre line, heights above the table. The two shapes as
 * shipped are common practice (no source); users measure their own.
 */
export interface TrackProfile {
  readonly name: string;
  readonly railCount: 2 | 3;
  /** Between the inside faces of the outer rail heads. */
  readonly gaugeMm: number;
  readonly headWidthMm: number;
  /** Highest line of the rail above the table. */
  readonly railTopMm: number;
  /** Standard uncertainty of the rail top's height. */
  readonly railTopUMm: number;
  /** Width of the base flange and the height of its upper side; null when it is not known. */
  readonly flangeWidthMm: number | null;
  readonly flangeTopMm: number | null;
  /** Greatest reach of a pin out of the rail end. */
  readonly pinReachMm: number;
  readonly pinDiameterMm: number;
}

export const tallTrack: TrackProfile = {
  name: 'tall',
  railCount: 3,
  gaugeMm: 31.75,
  headWidthMm: 4.6,
  railTopMm: 17.5,
  railTopUMm: 0.2,
  flangeWidthMm: 9.0,
  flangeTopMm: 7.0,
  pinReachMm: 14,
  pinDiameterMm: 2.3,
};

export const lowTrack: TrackProfile = {
  name: 'low',
  railCount: 3,
  gaugeMm: 31.75,
  headWidthMm: 3.8,
  railTopMm: 11.0,
  railTopUMm: 0.2,
  flangeWidthMm: 7.4,
  flangeTopMm: 4.0,
  pinReachMm: 12,
  pinDiameterMm: 2.3,
};

/** A track of the same shape, larger by a share: what one seems to be that is measured with a wrong scale. */
export function scaledTrack(track: TrackProfile, share: number): TrackProfile {
  return {
    ...track,
    gaugeMm: share * track.gaugeMm,
    headWidthMm: share * track.headWidthMm,
    railTopMm: share * track.railTopMm,
    railTopUMm: share * track.railTopUMm,
    flangeWidthMm: track.flangeWidthMm && share * track.flangeWidthMm,
    flangeTopMm: track.flangeTopMm && share * track.flangeTopMm,
    pinReachMm: share * track.pinReachMm,
    pinDiameterMm: share * track.pinDiameterMm,
  };
}

/** Offset of an outer rail head's middle from the centre line. */
export function outerHeadOffsetMm(profile: TrackProfile): number {
  return profile.gaugeMm / 2 + profile.headWidthMm / 2;
}

/** Offset of an outer rail head's outside face from the centre line. */
export function outsideFaceOffsetMm(profile: TrackProfile): number {
  return profile.gaugeMm / 2 + profile.headWidthMm;
}

/** Offsets of the rails' axes from the centre line, left positive; right to left. */
export function railOffsets(track: TrackProfile): readonly { rail: -1 | 0 | 1; offsetMm: number }[] {
  const outer = outerHeadOffsetMm(track);
  const all = [
    { rail: -1, offsetMm: -outer },
    { rail: 0, offsetMm: 0 },
    { rail: 1, offsetMm: outer },
  ] as const;
  return track.railCount === 3 ? all : [all[0], all[2]];
}
