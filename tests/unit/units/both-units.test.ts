import { describe, expect, it } from 'vitest';
import { planWarning } from '../../../server/contract/plan-words.js';
import { problem, problemLine } from '../../../server/contract/problems.js';
import { finelyInBoth, inBoth, lengthsIn } from '../../../server/units/both-units.js';

const inches = { unit: 'in' } as const;
const millimetres = { unit: 'mm' } as const;

describe('lengths in sentences', () => {
  it('stand in both units', () => {
    expect(inBoth(254)).toBe('254.0 mm (10 in)');
    expect(inBoth(0.396875)).toBe('0.4 mm (1/64 in)');
    expect(inBoth(187, 0)).toBe('187 mm (7 3/8 in)');
    expect(finelyInBoth(0.6)).toBe('0.6 mm (0.02 in)');
  });

  it('are read in one unit, and the rest of the sentence is left alone', () => {
    const sentence = `Ask for ${inBoth(31.75)} or ${inBoth(-3)} less (as in gap 2), known to ± ${finelyInBoth(0.6)}.`;
    expect(lengthsIn(sentence, inches)).toBe('Ask for 1 1/4 in or −1/8 in less (as in gap 2), known to ± 0.02 in.');
    expect(lengthsIn(sentence, millimetres)).toBe('Ask for 31.8 mm or -3.0 mm less (as in gap 2), known to ± 0.6 mm.');
  });

  it('leave no millimetre to a reader of inches', () => {
    const barely = { sides: [{ side: 'A', spareMm: 0.01, half95Mm: 0.6 }] };
    const early = { level: 'wishes', value: 34.2, bound: 3 };
    const unsure = { gap: 'Gap 1', half95Mm: 2, stepMm: 1.5875, photos: [] };
    const tapes = [{ name: 'side A', lengthMm: 1524, photosMm: 1830.2 }];
    const lines = [
      planWarning('barely-met', barely).message,
      planWarning('stopped-early', early).message,
      planWarning('too-uncertain-to-cut', unsure).message,
      problemLine(problem('sides-unequal', { longer: 'C', shorter: 'A', byMm: 187 })),
      problemLine(problem('tape-contradicted', { tapes })),
      problemLine(problem('track-moved', { names: 'a.jpg and b.jpg', millimetres: 9 })),
      problemLine(problem('sides-differ', { side: 'A', kept: 'a.jpg', leftOut: 'b.jpg', apartMm: 4, byMost: false })),
    ];
    for (const line of lines) {
      expect(lengthsIn(line, inches)).not.toMatch(/\bmm\b/);
      expect(lengthsIn(line, inches)).toMatch(/\d in\b/);
      expect(lengthsIn(line, millimetres)).not.toMatch(/\d in\b/);
    }
    expect(lengthsIn(lines[0], inches)).toBe(
      'The clearance wished for at side A is only just met, but known to ± 0.02 in. Measure there with a rule, or ask for more.',
    );
    expect(lengthsIn(lines[4], inches)).toContain('side A (tape 60 in, photos 72 1/16 in)');
  });

  it('leave the side of a marker in millimetres, which it is printed and typed in', () => {
    const gauge = { seenMm: 30.9, profileMm: 31.75, typedSideMm: 146, fittingSideMm: 150 };
    const line = lengthsIn(problemLine(problem('gauge-differs', gauge)), inches);
    expect(line).toContain('The rails measure 1.22 in apart');
    expect(line).toContain('If it is 150.0 mm and not 146.0 mm');
    const misfit = { name: 'a.jpg', seenMm: 21.2, gaugeMm: 31.75, typedSideMm: 100, fittingSideMm: 149.8 };
    const other = problemLine(problem('rails-misfit', misfit));
    expect(lengthsIn(other, inches)).toContain('is 100 mm wide, the rails in a.jpg lie 0.83 in apart');
    expect(lengthsIn(other, millimetres)).toContain('lie 21.2 mm apart, but the track that was chosen has 31.75 mm.');
    expect(lengthsIn(other, inches)).toContain('If it is 150 mm or near');
  });
});
