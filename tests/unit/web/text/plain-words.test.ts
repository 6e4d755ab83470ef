import { describe, expect, it } from 'vitest';
import type { Report, ReportJoint } from '../../../../server/contract/report.js';
import { unbroken } from '../../../../server/units/unbroken.js';
import { railRows } from '../../../../web/text/joint-rows.js';
import { runsInWords } from '../../../../web/text/run-words.js';
import { stepChoices } from '../../../../web/text/step-choices.js';

const mm = { unit: 'mm', denominator: 16 } as const;
const joint = (open: boolean, rails: ReportJoint['rails']): ReportJoint =>
  ({ id: 'J1', run: 'R1', at: [0, 0], open, gap: { value: 1, u: 0.2 }, rails, seen: [] }) as ReportJoint;
const none = { left: null, centre: null, right: null };

describe('what is said of the rails at a joint', () => {
  it('a closed one is seen as one slit: no rail of it is “not seen”', () => {
    expect(railRows(joint(false, none), mm)).toEqual([['Rails', 'seen together, as one slit across them']]);
  });

  it('an open one has each rail, also those that were not seen', () => {
    expect(railRows(joint(true, { ...none, left: { value: 50, u: 0.1 } }), mm)).toEqual([
      ['Left rail', unbroken('50.0 ± 0.2 mm')],
      ['Centre rail', 'not seen'],
      ['Right rail', 'not seen'],
    ]);
    expect(railRows(joint(true, none), mm).map(([, said]) => said)).toEqual(['not seen', 'not seen', 'not seen']);
    expect(railRows(joint(true, undefined), mm)).toEqual([]);
  });
});

describe('what a run is', () => {
  const runs = (...ids: string[]) => ({ runs: ids.map((id) => ({ id })) }) as unknown as Report;

  it('is said once with the names that the lists use', () => {
    expect(runsInWords(runs('R1'))).toMatch(/^A run is a chain of joined sections.* one run, R1\.$/);
    expect(runsInWords(runs('R1', 'R2', 'R3'))).toMatch(/R1, R2 and R3, named on the picture\.$/);
    expect(runsInWords(runs())).toBe('');
  });
});

describe('the steps to choose from', () => {
  it('begin with those of the reader’s unit, the same lengths either way', () => {
    const [inches, metric] = (['in', 'mm'] as const).map((unit) => stepChoices(25.4 / 16, unit));
    expect(inches[0].name).toBe('1/16 in');
    expect(metric.map((c) => c.name).slice(0, 3)).toEqual(['1 mm', '0.5 mm', '1.59 mm (1/16 in)']);
    const lengths = (list: typeof inches) => list.map((c) => c.mm).sort();
    expect(lengths(metric)).toEqual(lengths(inches));
  });

  it('hold the one that is in force, whatever it is', () => {
    expect(stepChoices(2, 'in')[0]).toEqual({ mm: 2, name: '2 mm' });
    expect(stepChoices(1, 'in').filter((c) => c.mm === 1)).toHaveLength(1);
  });
});
