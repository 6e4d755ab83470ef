import { isLaidAnew, piecesTakenOut } from '../contract/laid-anew.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import type { LengthStyle } from '../units/format-length.js';
import { stretchName } from './filler-place.js';
import { bothUnits, bothUnitsInLine } from './length-words.js';
import type { PageFlow } from './page-flow.js';
import { drawTable } from './table-drawing.js';

/** Which straights are laid of what, where the plan does more than fill gaps. */
export function drawStretches(flow: PageFlow, plan: Plan, report: Report | null, style: LengthStyle): void {
  const changed = plan.stretches
    .map((stretch, index) => ({ stretch, index }))
    .filter(({ stretch }) => isLaidAnew(stretch));
  if (changed.length === 0) return;
  flow.heading('Straights to lay anew', 16);
  drawTable(
    flow,
    [
      { head: 'Straight', share: 20, style: { bold: true } },
      { head: 'Now', share: 30 },
      { head: 'Then', share: 30, style: { bold: true } },
      { head: 'Made of', share: 100 },
    ],
    changed.map(({ stretch, index }) => {
      const now = bothUnits(stretch.nowMm, style);
      const then = bothUnits(stretch.thenMm, style);
      return [
        [`${stretchName(index).replace('straight ', '')}, run ${stretch.run}`],
        [now.first, now.second],
        [then.first, then.second],
        [`${madeInWords(stretch.made, style)}${outInWords(piecesTakenOut(stretch, report), style)}`],
      ];
    }),
  );
}

/** `; take out Straight 3, 5 in (127.0 mm)`; empty where everything stays. */
function outInWords(pieces: ReturnType<typeof piecesTakenOut>, style: LengthStyle): string {
  if (pieces.length === 0) return '';
  const names = pieces.map(({ name, lengthMm }) =>
    lengthMm === null ? name : `${name}, ${bothUnitsInLine(lengthMm, style)}`,
  );
  return `; take out ${names.join(' and ')}`;
}

type Made = Plan['stretches'][number]['made'];

function madeInWords(made: Made, style: LengthStyle): string {
  if (made.length === 0) return 'nothing: take it out';
  return made
    .map((part) => {
      if ('filler' in part) return part.filler;
      const length = bothUnitsInLine(part.lengthMm, style);
      const words = part.count === 1 ? length : `${part.count} × ${length}`;
      return part.source === 'stock' ? `${words} from stock` : words;
    })
    .join(' + ');
}
