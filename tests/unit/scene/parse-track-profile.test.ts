import { describe, expect, it } from 'vitest';
import { parseTrackProfile } from '../../../server/scene/parse-track-profile.js';
import { lowTrack, tallTrack } from '../../../server/scene/track-profile.js';

describe('a track profile', () => {
  it('is named tall or low, and tall when nothing is said', () => {
    expect(parseTrackProfile('tall')).toEqual({ ok: true, value: tallTrack });
    expect(parseTrackProfile('low')).toEqual({ ok: true, value: lowTrack });
    expect(parseTrackProfile(undefined)).toEqual({ ok: true, value: tallTrack });
  });

  it('of one’s own takes what is not given from tall, or from the one it names', () => {
    const own = parseTrackProfile({ railTopMm: 16.8, flangeWidthMm: null });
    expect(own).toEqual({ ok: true, value: { ...tallTrack, name: 'own', railTopMm: 16.8, flangeWidthMm: null } });
    const low = parseTrackProfile({ base: 'low', name: 'garden shed', railCount: 2 });
    expect(low).toEqual({ ok: true, value: { ...lowTrack, name: 'garden shed', railCount: 2 } });
  });

  it.each([
    ['wide', 'track'],
    [7, 'track'],
    [null, 'track'],
    [[tallTrack], 'track'],
    [{ base: 'broad' }, 'base'],
    [{ gaugeMm: 'wide' }, 'gaugeMm'],
    [{ gaugeMm: Number.NaN }, 'gaugeMm'],
    [{ railTopMm: 900 }, 'railTopMm'],
    [{ railTopMm: null }, 'railTopMm'],
    [{ railCount: 4 }, 'railCount'],
    [{ gauge: 31.75 }, 'gauge'],
    [{ __proto__: null, constructor: 1 }, 'constructor'],
    [{ flangeTopMm: 17.5 }, 'flangeTopMm'],
    [{ gaugeMm: 9, headWidthMm: 4 }, 'headWidthMm'],
  ])('%j is refused, and the field named', (json, field) => {
    const parsed = parseTrackProfile(json);
    expect(!parsed.ok && parsed.problem).toMatchObject({ code: 'bad-track-profile', data: { field } });
  });
});
