import type { Settings } from '../../server/contract/tables.js';

/** A track cross-section as a person measures it, millimetres. Field names are those of the track profile. */
export interface OwnTrack {
  readonly name: 'own';
  readonly railTopMm: number;
  readonly headWidthMm: number;
  readonly gaugeMm: number;
}

/** Common practice, no source: the tall and the low shape that the program ships. */
const shipped = {
  tall: { railTopMm: 17.5, headWidthMm: 4.6, gaugeMm: 31.75 },
  low: { railTopMm: 11.0, headWidthMm: 3.8, gaugeMm: 31.75 },
};

/** The measured cross-section in the settings, or one to start from. */
export function ownTrack(track: Settings['track']): OwnTrack {
  if (typeof track === 'string') return { name: 'own', ...shipped[track] };
  const number = (key: keyof typeof shipped.tall): number => {
    const value = track[key];
    return typeof value === 'number' ? value : shipped.tall[key];
  };
  return {
    name: 'own',
    railTopMm: number('railTopMm'),
    headWidthMm: number('headWidthMm'),
    gaugeMm: number('gaugeMm'),
  };
}
