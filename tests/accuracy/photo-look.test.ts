import { readFileSync } from 'node:fs';
import sharp, { type Sharp } from 'sharp';
import { describe, expect, it } from 'vitest';
import type { PhotoLook } from '../../server/contract/photo-look.js';
import { lookAtPhoto } from '../../server/pipeline/look-at-photo.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { openPhoto } from '../../server/stages/photo/open-photo.js';
import { samplePath, sceneTruth } from '../support/scene-truth.js';

async function lookAt(bytes: Uint8Array): Promise<PhotoLook> {
  const photo = await openPhoto('photo.jpg', bytes);
  if (!photo.ok) throw new Error(photo.problem.code);
  return lookAtPhoto(photo.value, 120, tallTrack);
}

const samples = [
  'birch-oval',
  'green-table-oval',
  'three-straights',
  'window-side-oval',
  'two-loops-left',
  'old-door-lamplight',
];

describe.skipIf(!sceneTruth('birch-oval'))('the judgement of a photo before it is measured', () => {
  it.each(samples)('sees the markers of %s, how steep it is, and whether the whole table is in it', async (name) => {
    const truth = JSON.parse(readFileSync(samplePath(`${name}.json`), 'utf8')) as {
      camera: { R: number[][] };
      table: { corners_in_frame: boolean[] };
      markers: { id: number; in_frame: boolean; visible_fraction: number }[];
    };
    const look = await lookAt(readFileSync(samplePath(`${name}.jpg`)));
    const whole = truth.table.corners_in_frame.every((c) => c);
    expect(look.wholeTable).toBe(whole);
    // A lamp may whiten a sheet; nothing else is wrong with these.
    expect(look.remarks.filter((r) => r !== 'glare')).toEqual(whole ? [] : ['table-cut']);
    const clear = truth.markers.filter((m) => m.in_frame && m.visible_fraction > 0.99).map((m) => m.id);
    for (const id of look.markers) expect(truth.markers.map((m) => m.id)).toContain(id);
    for (const id of clear) expect(look.markers).toContain(id);
    const tilt = Math.acos(Math.abs(truth.camera.R[2][2]));
    expect(Math.abs((look.tiltRad ?? 9) - tilt)).toBeLessThan(0.06);
  });

  it('says what is wrong: shaken, cut off, no marker, very dark', async () => {
    const photo = (): Sharp => sharp(samplePath('birch-oval.jpg')).keepMetadata();
    const made = async (picture: Sharp): Promise<PhotoLook> => lookAt(await picture.jpeg({ quality: 90 }).toBuffer());
    expect((await made(photo().blur(6))).remarks).toContain('blurred');
    expect((await made(photo().linear(0.12, 0))).remarks).toContain('dark');
    // The corners that the photo's right third holds are gone.
    const cut = await made(photo().extract({ left: 0, top: 0, width: 2900, height: 3024 }));
    expect(cut.wholeTable).toBe(false);
    expect(cut.remarks).toContain('table-cut');
    const bare = await made(photo().extract({ left: 0, top: 1900, width: 4032, height: 1100 }));
    expect(bare).toMatchObject({ markers: [], wholeTable: null, tiltRad: null });
    expect(bare.remarks[0]).toBe('no-marker');
  });
});
