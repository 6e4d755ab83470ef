import { describe, expect, it } from 'vitest';
import type { Report } from '../../../server/contract/report.js';
import type { Wishes } from '../../../server/contract/wishes.js';
import { planFillers } from '../../../server/planner/plan-fillers.js';
import { randomPlanCase } from '../../support/random-plan-case.js';
import { planChecked } from './plan-scene.js';

interface Asked {
  readonly report: Report;
  readonly wishes: Wishes;
}

type Pair = [number, number];

/** The same table seen from another place: turned by a right angle and shifted. */
function turned({ report, wishes }: Asked): Asked {
  const turn = ([x, y]: readonly number[]): Pair => [-y + 31, x - 17];
  const quarter = Math.PI / 2;
  const { outline, sides } = report.table;
  const table = {
    outline: outline.map(turn),
    sides: sides.map((side) => ({ ...side, from: turn(side.from), to: turn(side.to) })),
  };
  const runs = report.runs.map((run) => ({
    ...run,
    pieces: run.pieces.map((piece) => {
      const ends = { from: turn(piece.from), to: turn(piece.to) };
      return piece.kind === 'straight'
        ? { ...piece, ...ends, headingRad: piece.headingRad + quarter }
        : { ...piece, ...ends, centre: turn(piece.centre) };
    }),
  }));
  const joints = report.joints.map((joint) => ({ ...joint, at: turn(joint.at) }));
  const keepFree = wishes.keepFree.map((zone) => ({
    ...zone,
    centre: turn(zone.centre),
    angleRad: zone.angleRad + quarter,
  }));
  return { report: { ...report, table, runs, joints }, wishes: { ...wishes, keepFree } };
}

/** The same pieces in another order: closed runs begin at another piece, or all runs at their other end. */
function reordered({ report, wishes }: Asked, placeOf: (run: Report['runs'][number], piece: number) => number): Asked {
  const named = (id: string) => report.runs.find((run) => run.id === id) as Report['runs'][number];
  const runs = report.runs.map((run) => {
    const pieces = [...run.pieces];
    run.pieces.forEach((piece, i) => {
      pieces[placeOf(run, i)] = piece;
    });
    return { ...run, pieces };
  });
  const joints = report.joints.map((joint) => {
    const [before, after] = (joint.pieces as Pair).map((i) => placeOf(named(joint.run), i)) as Pair;
    return { ...joint, pieces: [before, after] as Pair };
  });
  const stay = wishes.stay.map((s) => ({ ...s, pieces: s.pieces.map((i) => placeOf(named(s.run), i)) }));
  return { report: { ...report, runs, joints }, wishes: { ...wishes, stay } };
}

function renumbered(asked: Asked): Asked {
  return reordered(asked, ({ closed, pieces }, i) => (closed ? (i + pieces.length - 2) % pieces.length : i));
}

function reversed(asked: Asked): Asked {
  const { report, wishes } = reordered(asked, ({ pieces }, i) => pieces.length - 1 - i);
  const runs = report.runs.map((run) => ({
    ...run,
    pieces: run.pieces.map((piece) => {
      const ends = { from: piece.to, to: piece.from };
      return piece.kind === 'straight'
        ? { ...piece, ...ends, headingRad: piece.headingRad + Math.PI }
        : { ...piece, ...ends, sweepRad: -piece.sweepRad };
    }),
  }));
  const joints = report.joints.map((joint) => {
    const [before, after] = joint.pieces as Pair;
    return { ...joint, pieces: [after, before] as Pair };
  });
  return { report: { ...report, runs, joints }, wishes };
}

describe('a layout has the same plan however it is written down', () => {
  it('where it lies on the table, at which piece it begins, which way round it runs', async () => {
    let compared = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const { report, wishes, stock, noiseMm } = randomPlanCase(seed);
      if (noiseMm > 0 || wishes.prefer === 'largest-loop') continue;
      const options = { alternatives: 0, timeLimitMs: 4000 };
      const first = await planFillers(report, wishes, stock, options);
      if (!first.ok || !first.value.search?.proved || first.value.unmet.length > 0) continue;
      compared++;
      const { cuts, changedSections } = first.value;
      for (const other of [turned, renumbered, reversed]) {
        const asked = other({ report, wishes });
        const again = await planChecked(asked.report, asked.wishes, stock, options);
        const name = `seed ${seed}, ${other.name}`;
        expect({ name, unmet: again.unmet, cuts: again.cuts, sections: again.changedSections }).toEqual({
          name,
          unmet: [],
          cuts,
          sections: changedSections,
        });
      }
    }
    expect(compared).toBeGreaterThan(3);
  }, 120_000);
});
