import { describe, expect, it } from 'vitest';
import type { RailTrace } from '../../../../server/scene/rail-trace.js';
import { placeAt } from '../../../../server/stages/joints/rail-strips.js';
import { centreLineOf, placeOfSample, sampleAt } from '../../../../server/stages/rails/centre-line.js';

/** Samples on a circle whose spacing is not even: closer together on one half. */
function unevenLoop(radiusMm: number): RailTrace {
  const samples = [];
  for (let angle = 0; angle < 2 * Math.PI - 0.005; angle += angle < Math.PI ? 0.02 : 0.011)
    samples.push({
      x: radiusMm * Math.cos(angle),
      y: radiusMm * Math.sin(angle),
      headingRad: angle + Math.PI / 2,
      sidewaysMm: [0, 0, 0] as const,
    });
  return { photo: 0, closed: true, stepMm: 8, light: { x: 0, y: 0, z: 2000 }, samples };
}

function unevenRow(): RailTrace {
  const samples = Array.from({ length: 60 }, (_, i) => ({
    x: i < 30 ? 8 * i : 240 + 3 * (i - 30),
    y: 0,
    headingRad: 0,
    sidewaysMm: [0, 0, 0] as const,
  }));
  return { photo: 0, closed: false, stepMm: 8, light: { x: 0, y: 0, z: 2000 }, samples };
}

describe('places along a centre line and the samples it was made from', () => {
  it('are the same place on the table, however unevenly the samples lie', () => {
    for (const trace of [unevenLoop(400), unevenRow()]) {
      const along = centreLineOf(trace);
      trace.samples.forEach((sample, i) => {
        const p = placeAt(along.line, placeOfSample(along, i));
        expect(Math.hypot(p.x - sample.x, p.y - sample.y)).toBeLessThan(1);
      });
    }
  });

  it('go to and fro without loss, round a loop more than once and beyond the ends of a row', () => {
    for (const [trace, indices] of [
      [unevenLoop(400), [-3.5, 0, 0.5, 100.25, 700, 1000.75]],
      [unevenRow(), [-2, 0, 10.5, 29, 31.25, 59, 62]],
    ] as const) {
      const along = centreLineOf(trace);
      for (const i of indices) expect(sampleAt(along, placeOfSample(along, i))).toBeCloseTo(i, 6);
    }
  });
});
