import {
  beginningOf,
  isLaidAnew,
  laidInOrder,
  type PieceOut,
  pieceName,
  piecesTakenOut,
} from '../contract/laid-anew.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { roughPlace } from '../contract/rough-place.js';
import { bothUnits, bothUnitsInLine } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { stretchName } from './filler-place.js';
import type { PageFlow } from './page-flow.js';
import { drawTable } from './table-drawing.js';

type Stretch = Plan['stretches'][number];

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
      { head: 'Straight', share: 34, style: { bold: true } },
      { head: 'Now', share: 30 },
      { head: 'Then', share: 30, style: { bold: true } },
      { head: 'Lay, in this order', share: 86 },
    ],
    changed.map(({ stretch, index }) => {
      const now = bothUnits(stretch.nowMm, style);
      const then = bothUnits(stretch.thenMm, style);
      const lies = laidInOrder(
        stretch,
        (id) => id,
        (mm) => bothUnits(mm, style).first,
      ).join(', ');
      return [
        [
          `${stretchName(index).replace('straight ', '')}, run ${stretch.run}`,
          stretch.pieces.map(pieceName).join(', '),
        ],
        [now.first, now.second],
        [then.first, then.second],
        [
          lies === '' ? 'nothing: the pieces beside it meet' : lies,
          ...beginInWords(stretch, report, style),
          ...outInWords(piecesTakenOut(stretch, report), report, style),
        ],
      ];
    }),
  );
}

/** Straights have names on the screen alone: on paper the place says which end the order begins at. */
function beginInWords(stretch: Stretch, report: Report | null, style: LengthStyle): string[] {
  const place = beginningOf(stretch, report, style);
  return place === '' ? [] : [`beginning ${place}`];
}

/** `Take out Straight 3, 5 in (127.0 mm): by side A, 24 in from corner D/A`, for each; no line where everything stays. */
function outInWords(pieces: readonly PieceOut[], report: Report | null, style: LengthStyle): string[] {
  return pieces.map(({ name, lengthMm, at }) => {
    const length = lengthMm === null ? '' : `, ${bothUnitsInLine(lengthMm, style)}`;
    const place = at === null || report === null ? '' : roughPlace(at, report, style);
    return `Take out ${name}${length}${place === '' ? '' : `: ${place}`}`;
  });
}
