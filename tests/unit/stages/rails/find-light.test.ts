import { describe, expect, it } from 'vitest';
import type { Raster } from '../../../../server/images/raster.js';
import type { LightPlace } from '../../../../server/scene/rail-trace.js';
import { tallTrack } from '../../../../server/scene/track-profile.js';
import { findLight } from '../../../../server/stages/rails/find-light.js';
import { angleAcross } from '../../../../server/stages/rails/rail-merit.js';
import { seeCrests } from '../../../../server/stages/rails/seen-crests.js';
import { camera, pictureOfCircle, samples } from '../../../support/rails/circle-of-track.js';

const wholeCircle = { samples, closed: true };

function found(raster: Raster, line = wholeCircle) {
  return findLight(raster, camera, tallTrack, [line], seeCrests(raster, camera, tallTrack, [line]));
}

function lightIn(raster: Raster, line = wholeCircle): LightPlace {
  return found(raster, line).light;
}

describe('the light that rails mirror', () => {
  it.each([
    { where: 'straight above', x: 0, y: 0, z: 20000 },
    { where: 'a window low on one side', x: 14000, y: 9000, z: 11000 },
    { where: 'a lamp over the table’s corner', x: -800, y: 800, z: 1400 },
  ])('is found from where the crests lie on the heads: $where', (light) => {
    const found = lightIn(pictureOfCircle(light));
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
    const found = lightIn(pictureOfCircle(light), { samples: few, closed: false });
    expect(angleAcross(found, few[3], tallTrack.railTopMm)).toBeCloseTo(0, 1);
  });

  it('is not told by the shadows of the rails, which shift all flanges’ edges alike', () => {
    const overhead = { x: 0, y: 0, z: 20000 };
    const found = lightIn(pictureOfCircle(overhead, 2));
    const off = samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm)));
    expect(off.reduce((a, b) => a + b, 0) / off.length).toBeLessThan(0.1);
  });

  it('does not stand low where the flanges on its side lie in the shadow of the heads', () => {
    const low = { x: 14000, y: 9000, z: 11000 };
    const lean = (besideHead: number): number => {
      const found = lightIn(pictureOfCircle(low, 0, besideHead));
      return Math.max(...samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm))));
    };
    expect(lean(1)).toBeGreaterThan(0.5);
    expect(lean(0.4)).toBeLessThan(0.1);
  });

  it('needs less proof on the flanges where it moves the crests little', () => {
    const lean = (light: { x: number; y: number; z: number }, besideHead: number): number => {
      const found = lightIn(pictureOfCircle(light, 0, besideHead));
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

  it('needs less proof yet where it is a low lamp with which the rails fit plainly better', () => {
    const lamp = { x: -800, y: 800, z: 1400 };
    const leanIn = (besideHead: number): number => {
      const light = lightIn(pictureOfCircle(lamp, 0, besideHead));
      return Math.max(...samples.map((p) => Math.abs(angleAcross(light, p, tallTrack.railTopMm))));
    };
    expect(leanIn(0.7)).toBeGreaterThan(0.3);
    expect(leanIn(0.5)).toBeLessThan(0.1);
  });

  it('is taken to be overhead where most crests lie nowhere near where any light would be mirrored', () => {
    const low = { x: 14000, y: 9000, z: 11000 };
    const leanOf = (mm: number): number => {
      const scattered = pictureOfCircle(low, 0, 1, (degrees) => (degrees % 60 < 30 ? mm : -mm));
      const found = lightIn(scattered);
      return Math.max(...samples.map((p) => Math.abs(angleAcross(found, p, tallTrack.railTopMm))));
    };
    expect(leanOf(0.3)).toBeGreaterThan(0.5);
    expect(leanOf(1.3)).toBeLessThan(0.1);
  });

  it('tells whether the edges that crests were measured against are the rails’ own', () => {
    const low = { x: 14000, y: 9000, z: 11000 };
    expect(found(pictureOfCircle(low)).tellsCrests).toBe(true);
    // Lit well enough for a light that moves crests little, which is not taken for want of a better fit.
    const high = { x: 1000, y: 700, z: 20000 };
    expect(found(pictureOfCircle(high)).tellsCrests).toBe(true);
    expect(found(pictureOfCircle(low, 0, 0.4)).tellsCrests).toBe(false);
    const torn = pictureOfCircle(low, 0, 1, (degrees) => (degrees % 60 < 30 ? 1.3 : -1.3));
    expect(found(torn).tellsCrests).toBe(false);
    expect(found(pictureOfCircle(low), { samples: samples.slice(0, 6), closed: false }).tellsCrests).toBe(false);
  });
});
