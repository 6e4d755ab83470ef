import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';
import { lowTrack, type TrackProfile, tallTrack } from './track-profile.js';

/** Least and greatest value that can be a real track's, millimetres: wide limits against slips of the finger. */
const limits: Partial<Record<keyof TrackProfile, readonly [number, number]>> = {
  gaugeMm: [6, 130],
  headWidthMm: [0.5, 12],
  railTopMm: [1, 60],
  railTopUMm: [0.01, 5],
  flangeWidthMm: [0.5, 40],
  flangeTopMm: [0.1, 50],
  pinReachMm: [0, 40],
  pinDiameterMm: [0, 8],
};

/** These may be null: not known. */
const mayBeNull: readonly string[] = ['flangeWidthMm', 'flangeTopMm'];

/**
 * Reads a track profile as a person or a table's settings give it: `'tall'`, `'low'`, or an object with the fields of
 * TrackProfile in millimetres. Fields that are missing are those of the profile named by `base`, tall by default.
 * @returns the profile, or the problem bad-track-profile that names the field
 */
export function parseTrackProfile(json: unknown): Result<TrackProfile, Problem> {
  if (json === 'tall' || json === undefined) return ok(tallTrack);
  if (json === 'low') return ok(lowTrack);
  if (typeof json !== 'object' || json === null || Array.isArray(json)) {
    return bad('track', 'is neither “tall”, “low” nor a profile');
  }
  const given = json as Record<string, unknown>;
  if (given['base'] !== undefined && given['base'] !== 'tall' && given['base'] !== 'low') {
    return bad('base', 'is neither “tall” nor “low”');
  }
  const profile: Record<string, unknown> = { ...(given['base'] === 'low' ? lowTrack : tallTrack), name: 'own' };
  for (const [field, value] of Object.entries(given)) {
    if (field === 'base' || field === 'format') continue;
    const why = whyNot(field, value);
    if (why !== null) return bad(field, why);
    profile[field] = value;
  }
  return consistent(profile as unknown as TrackProfile);
}

function whyNot(field: string, value: unknown): string | null {
  if (field === 'name') return typeof value === 'string' && value.length <= 80 ? null : 'is not a short name';
  if (field === 'railCount') return value === 2 || value === 3 ? null : 'is neither 2 nor 3';
  const range = limits[field as keyof TrackProfile];
  if (!range) return 'is not a field of a track profile';
  if (value === null && mayBeNull.includes(field)) return null;
  if (typeof value !== 'number' || !Number.isFinite(value)) return 'is not a number of millimetres';
  return value >= range[0] && value <= range[1] ? null : `is not between ${range[0]} and ${range[1]} mm`;
}

function consistent(profile: TrackProfile): Result<TrackProfile, Problem> {
  if (profile.flangeTopMm !== null && profile.flangeTopMm >= profile.railTopMm) {
    return bad('flangeTopMm', 'is not below the rail top');
  }
  if (profile.headWidthMm * 3 >= profile.gaugeMm) return bad('headWidthMm', 'leaves no room between the rails');
  return ok(profile);
}

function bad(field: string, why: string): Result<TrackProfile, Problem> {
  return failed(problem('bad-track-profile', { field, why }));
}
