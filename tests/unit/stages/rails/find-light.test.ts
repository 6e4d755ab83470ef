import { describe, expect, it } from 'vitest';
import { type Camera, tableFromPhotoAtHeight } from '../../../../server/geometry/camera.js';
import { rotationFromVector } from '../../../../server/geometry/rotation.js';
import type { Raster } from '../../../../server/images/raster.js';
import { railOffsets, tallTrack } from '../../../../server/scene/track-profile.js';
import { findLight } from '../../../../server/stages/rails/find-light.js';
import { railLook } from '../../../../server/stages/rails/rail-edges.js';
import { angleAcross, type Place, viewAngleAcross } from '../../../../server/stages/rails/rail-merit.js';

const radiusMm = 260;
const sizePx = 1100;

/** From 1.5 m above, 0.5 m aside. */
const camera: Camera = {
  lens: { fx: 2600, fy: 2600, cx: (sizePx - 1) / 2, cy: (sizePx - 1) / 2, k1: 0, k2: 0, p1: 0, p2: 0 },
  cameraFromTable: { rotation: rotationFromVector(Math.PI, 0, 0), translation: [60, 40, 1500] },
};

function placeAt(angle: number): Place {
  return { x: radiusMm * Math.cos(angle), y: radiusMm * Math.sin(angle), headingRad: angle + Math.PI / 2 };
}

/**
 * A circle of track: dark heads with a bright crest where each mirrors the light, flanges, and a table between both.
 * @param shadowMm dark beside each flange, on its left, as a rail's shadow that touches it
 * @param besideHead brightness of the flanges next to the head, over that next to their edges
 * @param asideMm how far a crest lies beside where the tube mirrors the light, by the degrees round the circle
 */
function picture(
  light: { x: number; y: number; z: number },
  shadowMm = 0,
  besideHead = 1,
  asideMm: (degrees: number) => number = () => 0,
): Raster {
  const data = new Uint8Array(3 * sizePx * sizePx);
  const looks = Array.from({ length: 360 }, (_, i) => {
    const place = placeAt((i * Math.PI) / 180);
    const view = viewAngleAcross(camera, place, tallTrack.railTopMm);
    return railLook(tallTrack, view, angleAcross(light, place, tallTrack.railTopMm));
  });
  const axisMm = tallTrack.railTopMm - tallTrack.headWidthMm / 2;
  for (let v = 0; v < sizePx; v++)
    for (let u = 0; u < sizePx; u++) {
      const p = tableFromPhotoAtHeight(camera, u, v, axisMm);
      const across = radiusMm - Math.hypot(p.x, p.y);
      const degrees = Math.round((Math.atan2(p.y, p.x) * 180) / Math.PI + 360) % 360;
      const look = looks[degrees];
      const crestMm = look.crestMm + asideMm(degrees);
      let light01 = 0.3;
      for (const { offsetMm } of railOffsets(tallTrack)) {
        const d = across - offsetMm;
        const sides = look.edges.map((e) => e.offsetMm).filter((mm) => Math.abs(mm) > look.headHalfMm);
        if (Math.abs(d) < look.headHalfMm) light01 = 0.06 + 0.8 * Math.exp(-(((d - crestMm) / 0.5) ** 2));
        else if (d > Math.min(0, ...sides) && d < Math.max(0, ...sides) + shadowMm)
          light01 = 0.12 * (Math.abs(d) < (look.headHalfMm + Math.max(...sides.map(Math.abs))) / 2 ? besideHead : 1);
      }
      data.fill(Math.round(255 * light01 ** (1 / 2.2)), 3 * (v * sizePx + u), 3 * (v * sizePx + u) + 3);
    }
  return { widthPx: sizePx, heightPx: sizePx, channels: 3, data };
}

const samples = Array.from({ length: Math.round((2 * Math.PI * radiusMm) / 8) }, (_, i) => placeAt((i * 8) / radiusMm));

describe('the light that rails mirror', () => {
  it.each([
    { where: 'straight above', x: 0, y: 0, z: 20000 },
    { where: 'a window low on one side', x: 14000, y: 9000, z: 11000 },
    { where: 'a lamp over the table’s corner', x: -800, y: 800, z: 1400 },
  ])('is found from where the crests lie on the heads: $where', (light) => {
    const found = findLight(picture(light), camera, tallTrack, [{ samples, closed: true }]);
    const off = samples.map((p) =>
      Math.abs(angleAcross(found, p, tallTrack.railTopMm) - angleAcross(light, p, tallTrack.railTopMm)),
    );
    // A crest shifts by half the angle that the light does: 0.3 rad are a third of a millimetre on the head.
    expect(Math.max(...off)).toBeLessThan(0.55);
    expect(off.reduce((a, b) => a + b, 0) / off.length).toBeLessThan(0.3);
  });

  it('is taken to be overhead where too little track tells', () => {
    const light = { x: 14000, y: 9000, z: 11000 };
    const few = samples.slice(0, 6);
    const found = findLight(picture(light), camera, tallTrack, [{ samples: few, closed: false }]);
    expect(angleAcross(found, few[3], tallTrack.railTopMm)).toBeCloseTo(0, 1);
  });

  it('is not told by the shadows of the rails, which shift all flanges’ edges alike', () => {
    const overhead = { x: 0, y: 0, z: 20000 };
    const found = findLight(picture(overhead, 2), camera, tallTrack, [{ samples, closed: true }]);
    const off = samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm)));
    expect(off.reduce((a, b) => a + b, 0) / off.length).toBeLessThan(0.1);
  });

  it('does not stand low where the flanges on its side lie in the shadow of the heads', () => {
    const low = { x: 14000, y: 9000, z: 11000 };
    const lean = (besideHead: number): number => {
      const found = findLight(picture(low, 0, besideHead), camera, tallTrack, [{ samples, closed: true }]);
      return Math.max(...samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm))));
    };
    expect(lean(1)).toBeGreaterThan(0.5);
    expect(lean(0.4)).toBeLessThan(0.1);
  });

  it('needs less proof on the flanges where it moves the crests little', () => {
    const lean = (light: { x: number; y: number; z: number }, besideHead: number): number => {
      const found = findLight(picture(light, 0, besideHead), camera, tallTrack, [{ samples, closed: true }]);
      return Math.max(...samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm))));
    };
    const [low, high] = [
      { x: 14000, y: 9000, z: 11000 },
      { x: 9400, y: 6000, z: 20000 },
    ];
    expect(lean(low, 0.85)).toBeLessThan(0.1);
    expect(lean(high, 0.85)).toBeGreaterThan(0.3);
    expect(lean(high, 0.6)).toBeLessThan(0.1);
  });

  it('is taken to be overhead where most crests lie nowhere near where any light would be mirrored', () => {
    const low = { x: 14000, y: 9000, z: 11000 };
    const leanOf = (mm: number): number => {
      const scattered = picture(low, 0, 1, (degrees) => (degrees % 60 < 30 ? mm : -mm));
      const found = findLight(scattered, camera, tallTrack, [{ samples, closed: true }]);
      return Math.max(...samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm))));
    };
    expect(leanOf(0.3)).toBeGreaterThan(0.5);
    expect(leanOf(1.3)).toBeLessThan(0.1);
  });
});
