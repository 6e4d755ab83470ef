import { type FillerSum, fillerSum, partInWords, toldBy } from '../contract/filler-sum.js';
import type { ToldBy } from '../contract/gap-readings.js';
import { styleToldBy, toldWords } from '../contract/gap-words.js';
import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { bothUnits } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CutList, donorTag, type FillerLine } from './cut-list.js';
import { fillerPlaceInWords } from './filler-place.js';
import type { LaidRun } from './laid-track.js';
import { bothEstimates } from './length-words.js';
import type { PageFlow } from './page-flow.js';
import { type Cell, type Column, drawTable } from './table-drawing.js';

/** What is known of the table on which the fillers go; without a report only what the plan says. */
export interface FillerTable {
  readonly plan: Plan;
  readonly report: Report | null;
  readonly runs: readonly LaidRun[];
}

/** The fillers: how long, where they go, what was measured there with room for what the rule says, from which donor. */
export function drawFillerTable(flow: PageFlow, list: CutList, table: FillerTable, style: LengthStyle): void {
  if (list.fillers.length === 0) {
    flow.paragraph('There is no filler to cut: nothing has to be sawn for this plan.', { sizePt: 11, bold: true });
    return;
  }
  const columns: Column[] = [
    { head: '', share: 6 },
    { head: 'Filler', share: 13, style: { sizePt: 11, bold: true } },
    { head: list.doNotCut.length > 0 ? 'First idea' : 'Cut to', share: 25, style: { sizePt: 12, bold: true } },
    { head: style.unit === 'in' ? 'In mm' : 'In inches', share: 18, style: { sizePt: 9.5 } },
    { head: 'Goes to', share: 53, style: { sizePt: 9 } },
    { head: 'Measured there, and by the rule', share: 51, style: { sizePt: 9 } },
    { head: 'Donor', share: 14, style: { sizePt: 9.5 } },
    { head: 'Pins', share: 12, style: { sizePt: 9 } },
  ];
  const rows = list.fillers.map((f) => fillerRow(f, list, table, style));
  drawTable(flow, columns, rows);
  if (list.fillers.some((f) => f.donor === null)) {
    flow.paragraph('Donor “none”: no section at hand is long enough; find one and plan again.', { sizePt: 9 });
  }
  if (list.fillers.some((f) => f.finerThanMeasured)) {
    flow.paragraph(
      '† The gap is known less finely than the length is given: cut a little long, try, and file to fit.',
      { sizePt: 9 },
    );
  }
}

/** Few rows have room for the measured length in the second unit as well. */
const mostRoomyRows = 6;

function fillerRow(filler: FillerLine, list: CutList, { plan, report, runs }: FillerTable, style: LengthStyle): Cell[] {
  const length = bothUnits(filler.lengthMm, style);
  const roomy = list.fillers.length <= mostRoomyRows;
  const planned = plan.fillers.find((f) => f.id === filler.id);
  const sum = report === null || !planned ? { parts: [], total: filler.gap } : fillerSum(plan, planned, report);
  return [
    'tick',
    [filler.id],
    [`${length.first}${filler.finerThanMeasured ? ' †' : ''}`],
    [length.second],
    [fillerPlaceInWords(filler, sum, runs, report, style)],
    measuredLines(sum, (planned && toldBy(plan, planned, sum)) ?? 'photo', roomy, style),
    [filler.donor === null ? 'none' : `${filler.whole ? 'all of ' : ''}${donorTag(list, filler.donor)}`],
    [pinWords(filler)],
  ];
}

const ruleSays = 'rule\u00a0says\u00a0_______';

/**
 * One line for each gap that is closed and each straight whose place is taken, with room to write beside it where no rule
 * was read yet; then their sum.
 */
function measuredLines({ parts, total }: FillerSum, toldBy: ToldBy, roomy: boolean, style: LengthStyle): string[] {
  const sum = total === null ? null : bothEstimates(total, style);
  if (parts.length > 1) {
    const lines = parts.map(
      (part) => `${part.name}: ${partInWords(part, style)}${part.toldBy === 'photo' ? `, ${ruleSays}` : ''}`,
    );
    if (sum === null) return lines;
    return [...lines, `together ${sum.first}${roomy ? ` (${sum.second.replaceAll(' ', '\u00a0')})` : ''}`];
  }
  const length = total ?? parts[0]?.length;
  if (!length) return [ruleSays];
  const one = bothEstimates(length, styleToldBy(toldBy, length.value, style));
  const told = toldWords[toldBy].replaceAll(' ', '\u00a0');
  return [`${one.first}, ${told || ruleSays}`, ...(roomy ? [one.second] : [])];
}

function pinWords(filler: FillerLine): string {
  if (filler.donor === null) return '—';
  const words: string[] = [];
  if (filler.fitPinsAt > 0) words.push(`fit ${3 * filler.fitPinsAt}`);
  if (filler.pullPinsAt > 0) words.push(`pull ${3 * filler.pullPinsAt}`);
  if (filler.keepsPins && words.length === 0) words.push('keep 3');
  return words.length === 0 ? 'none' : words.join(', ');
}
