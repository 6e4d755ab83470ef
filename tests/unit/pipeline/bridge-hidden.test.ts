import { describe, expect, it } from 'vitest';
import { bridgeHidden } from '../../../server/pipeline/bridge-hidden.js';
import type { MeasuredPiece } from '../../../server/scene/measured-layout.js';
import { type Arc, pointOnArc } from '../../../server/scene/track-observation.js';

const radiusMm = 400;

/** Part of a circle about (0, radius), as a piece; angles from the lowest point on. */
function onCircle(fromRad: number, toRad: number, seen: boolean): MeasuredPiece {
  const half = (radiusMm * (toRad - fromRad)) / 2;
  const middle = (fromRad + toRad) / 2;
  const arc: Arc = {
    x: radiusMm * Math.sin(middle),
    y: radiusMm * (1 - Math.cos(middle)),
    headingRad: middle,
    curvaturePerMm: 1 / radiusMm,
    halfLengthMm: half,
  };
  return { arc, arcIndex: 0, straight: false, seen, fromS: -half, toS: half };
}

function onLine(fromMm: number, toMm: number, seen: boolean, asideMm = 0): MeasuredPiece {
  const half = (toMm - fromMm) / 2;
  const arc: Arc = { x: (fromMm + toMm) / 2, y: asideMm, headingRad: 0, curvaturePerMm: 0, halfLengthMm: half };
  return { arc, arcIndex: 0, straight: true, seen, fromS: -half, toS: half };
}

describe('covered track', () => {
  it('goes straight on between two straights in line, whatever was guessed under the cover', () => {
    const out = bridgeHidden([onLine(0, 300, true), onLine(300, 600, false, 9), onLine(600, 900, true)], false);
    expect(out.map((p) => [p.seen, p.straight])).toEqual([
      [true, true],
      [false, true],
      [true, true],
    ]);
    const middle = pointOnArc(out[1].arc, 0);
    expect(middle.y).toBeCloseTo(0, 9);
    expect(out[1].toS - out[1].fromS).toBeCloseTo(300, 9);
  });

  it('follows the circle that both its ends lie on, several covered pieces as one', () => {
    const pieces = [
      onCircle(0, 0.5, true),
      onCircle(0.5, 0.7, false),
      onCircle(0.7, 0.9, false),
      onCircle(0.9, 1.4, true),
    ];
    const out = bridgeHidden(pieces, false);
    expect(out).toHaveLength(3);
    expect(1 / out[1].arc.curvaturePerMm).toBeCloseTo(radiusMm, 6);
    for (const s of [out[1].fromS, 0, out[1].toS]) {
      const p = pointOnArc(out[1].arc, s);
      expect(Math.hypot(p.x, p.y - radiusMm)).toBeCloseTo(radiusMm, 6);
    }
  });

  it('is bridged across the place where a closed run begins too, and the order stays', () => {
    const pieces = [
      onCircle(-0.4, 0, false),
      onCircle(0, 2, true),
      onCircle(2, 2 * Math.PI - 0.8, true),
      onCircle(2 * Math.PI - 0.8, 2 * Math.PI - 0.4, false),
    ];
    const out = bridgeHidden(pieces, true);
    expect(out).toHaveLength(3);
    expect(out.slice(0, 2)).toEqual(pieces.slice(1, 3));
    const hidden = out[2];
    expect(hidden.seen).toBe(false);
    expect(hidden.toS - hidden.fromS).toBeCloseTo(radiusMm * 0.8, 4);
  });

  it('stays as it is at the end of an open run', () => {
    const pieces = [onLine(0, 300, true), onLine(300, 500, false, 3)];
    expect(bridgeHidden(pieces, false)).toEqual(pieces);
  });

  it('takes no heading from a scrap of track that shows between covers', () => {
    const scrap = onLine(400, 430, true, 3);
    const turned = { ...scrap, arc: { ...scrap.arc, headingRad: 0.2 } };
    const out = bridgeHidden(
      [onLine(0, 300, true), onLine(300, 400, false), turned, onLine(430, 600, false), onLine(600, 900, true)],
      false,
    );
    expect(out.map((p) => p.seen)).toEqual([true, false, true]);
    expect(pointOnArc(out[1].arc, 0).y).toBeCloseTo(0, 9);
  });

  it('leaves a long piece between covers, and a short one that lies beside no cover', () => {
    const out = bridgeHidden(
      [
        onLine(0, 50, true),
        onLine(50, 300, true),
        onLine(300, 400, false),
        onLine(400, 500, true),
        onLine(500, 600, false),
      ],
      false,
    );
    expect(out.map((p) => p.seen)).toEqual([true, true, false, true, false]);
  });
});
