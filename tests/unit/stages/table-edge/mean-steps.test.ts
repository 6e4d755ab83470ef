import { describe, expect, it } from 'vitest';
import { type LookFromAbove, squareMm } from '../../../../server/stages/table-edge/look-from-above.js';
import { MeanSteps } from '../../../../server/stages/table-edge/mean-steps.js';
import { outlineByMeans } from '../../../../server/stages/table-edge/outline-by-means.js';
import { seededRandom } from '../../../support/seeded-random.js';

/** What each side of a table lies at from the origin, counter-clockwise from the one its normal of which points at turnRad. */
const distances = [400, 250, 500, 300] as const;

/** A table brighter by `step` than the floor, turned; squares differ by chance, and those left of seenFrom show nothing. */
function seenFromAbove(
  turnRad: number,
  step: number,
  noise: number,
  seenFrom = Number.NEGATIVE_INFINITY,
): LookFromAbove {
  const random = seededRandom(5);
  const [columns, rows, leftMm, lowMm] = [220, 220, -1100, -1100];
  const look = new Float32Array(3 * columns * rows);
  const [c, s] = [Math.cos(turnRad), Math.sin(turnRad)];
  for (let j = 0; j < rows; j++)
    for (let i = 0; i < columns; i++) {
      const [x, y] = [leftMm + i * squareMm, lowMm + j * squareMm];
      const [out, along] = [x * c + y * s, y * c - x * s];
      const isTable = out < distances[0] && along < distances[1] && -out < distances[2] && -along < distances[3];
      const at = 3 * (j * columns + i);
      look[at] = x < seenFrom ? Number.NaN : (isTable ? step : 0) + noise * (random() - 0.5);
      look[at + 1] = 0.01 * (random() - 0.5);
      look[at + 2] = 0.01 * (random() - 0.5);
    }
  return { columns, rows, leftMm, lowMm, look };
}

/** Things lie on the middle of the table only. */
const reach = (): number => 180;

describe('mean steps across lines', () => {
  it('are those of each side, a quarter turn apart, at its distance and nowhere else', () => {
    const turn = 0.4;
    const steps = new MeanSteps(seenFromAbove(turn, 0.3, 0), turn);
    distances.forEach((out, side) => {
      const [from, to] = [-distances[(side + 3) % 4] + 30, distances[(side + 1) % 4] - 30];
      expect(steps.across(side, out, from, to)?.step[0]).toBeCloseTo(0.3, 1);
      expect(steps.across(side, out - 100, from, to)?.step[0]).toBeCloseTo(0, 6);
      expect(steps.across(side, out + 100, from, to)?.step[0]).toBeCloseTo(0, 6);
      // Beyond the corner it is floor on both sides.
      expect(steps.across(side, out, to + 60, to + 200)?.step[0]).toBeCloseTo(0, 6);
    });
  });

  it('are unknown where a side of the line is not seen', () => {
    const steps = new MeanSteps(seenFromAbove(0, 0.3, 0, -400), 0);
    expect(steps.across(2, 500, -300, 250)).toBeNull();
    expect(steps.across(0, 400, -300, 250)).not.toBeNull();
  });
});

describe('the outline that shows on average', () => {
  it.each([0, 0.3, 1.2])('is found turned by %d rad though squares differ three times as much as it does', (turn) => {
    const { sides } = outlineByMeans(seenFromAbove(turn, 0.2, 0.6), reach);
    expect(sides).toHaveLength(4);
    for (const { line } of sides) {
      const quarter = ((((line.thetaRad - turn) / (Math.PI / 2)) % 4) + 4) % 4;
      const side = Math.round(quarter) % 4;
      expect(Math.abs(line.rhoMm - distances[side])).toBeLessThan(16);
    }
  });

  it('is none on a floor like the table', () => {
    expect(outlineByMeans(seenFromAbove(0.3, 0, 0.6), reach).sides).toEqual([]);
  });

  it('leaves out a side that is not in the picture, and the corners there', () => {
    const { sides } = outlineByMeans(seenFromAbove(0, 0.2, 0.3, -450), reach);
    expect(sides).toHaveLength(3);
    for (const [k, out] of [400, 250, 300].entries()) expect(Math.abs(sides[k].line.rhoMm - out)).toBeLessThan(16);
    expect(sides.map(({ fromMm, toMm }) => [Number.isFinite(fromMm), Number.isFinite(toMm)])).toEqual([
      [true, true],
      [true, false],
      [false, true],
    ]);
  });
});
