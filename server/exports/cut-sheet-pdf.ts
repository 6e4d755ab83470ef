import { cautions, cuttingSteps, readInAllGaps } from '../contract/bench-words.js';
import type { Plan } from '../contract/plan.js';
import { contradictionWords, slideWords, unsafeWords } from '../contract/plan-notices.js';
import type { Report } from '../contract/report.js';
import { wishInWords } from '../contract/wish-words.js';
import { lengthsIn } from '../units/both-units.js';
import { bothUnitsInLine } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CutList, cutListOf } from './cut-list.js';
import { drawDonors } from './donor-drawing.js';
import { expectations } from './expectations.js';
import { fillerPoint } from './filler-place.js';
import { drawFillerTable } from './filler-table.js';
import { type LaidRun, laidTrack } from './laid-track.js';
import { drawMessageBox } from './message-box.js';
import { drawFeet, PageFlow } from './page-flow.js';
import type { Paper } from './paper.js';
import { Sheet } from './sheet.js';
import { drawStretches } from './stretch-table.js';
import { drawTablePlan, type TablePlan, tablePlanHeightMm } from './table-plan.js';
import { drawStripPages } from './true-size-strips.js';

export interface CutSheetOptions {
  readonly paper: Paper;
  readonly style: LengthStyle;
  readonly tableName: string;
  readonly created?: Date;
}

/**
 * The sheet for the bench: fillers, donors with their cuts, cautions and the small plan on one page where they fit,
 * then each donor's strip at true size. A plan that is not sure enough says so at the top and leaves the strips out.
 *
 * @param report adds the small plan and the places in words; null where only the plan is at hand
 * @example await cutSheetPdf(plan, report, { paper: 'letter', style: defaultLengthStyle, tableName: 'Attic' })
 */
export async function cutSheetPdf(plan: Plan, report: Report | null, options: CutSheetOptions): Promise<Uint8Array> {
  const created = options.created ?? new Date();
  const list = cutListOf(plan);
  const runs = report === null ? [] : laidTrack(report, plan);
  const title = options.tableName === '' ? 'Cut sheet' : `Cut sheet: ${options.tableName}`;
  const sheet = new Sheet({
    paper: options.paper,
    title,
    subject: `${list.fillers.length} filler sections, ${list.cutCount} cuts. Print at 100 %.`,
    created,
  });
  const flow = new PageFlow(sheet, title);
  flow.newPage();
  flow.title('Cut sheet', options.tableName, created);
  drawNotices(flow, plan, report, options.style);
  drawWarnings(flow, list, plan, options.style);
  drawFillerTable(flow, list, { plan, report, runs }, options.style);
  drawStretches(flow, plan, report, options.style);
  for (const note of list.notes) flow.paragraph(`Note: ${lengthsIn(note, options.style)}`, { sizePt: 9 });
  const whole = list.donors.filter((d) => d.whole).flatMap((d) => d.pieces.map((p) => `${p.filler} is donor ${d.id}`));
  if (whole.length > 0) flow.paragraph(`Used as they are, without a cut: ${whole.join(', ')}.`, { sizePt: 9 });
  if (list.donors.some((d) => !d.whole)) {
    flow.heading('Donors, seen from above, pinned end on the left', 26);
    drawDonors(flow, list, options.style);
  }
  const gapsRead = readInAllGaps(plan, report);
  const steps = cuttingSteps({ gapsRead, kerfMm: list.kerfMm, tiesAre: 'drawn' }, options.style);
  drawBottom(flow, list, plan, { steps, places: smallPlan(list, runs, report) }, options.style);
  if (list.cutCount > 0 && list.doNotCut.length === 0) drawStripPages(flow, list, options.style);
  drawFeet(sheet, [options.tableName, created.toISOString().slice(0, 10)].filter((s) => s !== '').join(' · '));
  return sheet.finish();
}

/** What comes before all cutting: what the longest car would hit, gaps to be looked at again, and which runs to slide. */
function drawNotices(flow: PageFlow, plan: Plan, report: Report | null, style: LengthStyle): void {
  const unsafe = unsafeWords(plan, style);
  if (unsafe.length > 0) drawMessageBox(flow, 'NOT SAFE TO RUN', unsafe, true);
  const contradicted = contradictionWords(plan, style);
  if (contradicted.length > 0) drawMessageBox(flow, 'RULE AND PHOTO DIFFER', contradicted, true);
  for (const line of slideWords(plan, report, style)) flow.paragraph(line, { sizePt: 11, bold: true });
}

const mostReasonsInBox = 8;

function drawWarnings(flow: PageFlow, list: CutList, plan: Plan, style: LengthStyle): void {
  if (list.doNotCut.length > 0) {
    const reasons = list.doNotCut.map((reason) => lengthsIn(reason, style));
    drawMessageBox(flow, 'DO NOT CUT YET', [...reasons.slice(0, mostReasonsInBox), doNotCutAdvice], true);
    for (const reason of reasons.slice(mostReasonsInBox)) flow.paragraph(reason);
  }
  const unmet = plan.unmet.map((u) => {
    const cure = u.cure === undefined ? '' : ` ${lengthsIn(u.cure, style)}`;
    return `${wishInWords(u.wish)}: short by ${bothUnitsInLine(u.shortByMm, style)}.${cure}`;
  });
  if (unmet.length === 0) return;
  drawMessageBox(flow, 'Wishes that this plan cannot meet', unmet.slice(0, mostReasonsInBox), false);
  for (const wish of unmet.slice(mostReasonsInBox)) flow.paragraph(wish);
}

const doNotCutAdvice =
  'The lengths below are only a first idea, and no strips are printed. Take more photos, from higher up and with more marker sheets flat on the table near the track in question, or type in under “Fillers” what a steel rule says there; then plan again.';

const adviceStyle = { sizePt: 9 } as const;

/** Steps and cautions on the left, small plan and what to expect on the right. */
function drawBottom(
  flow: PageFlow,
  list: CutList,
  plan: Plan,
  { steps: allSteps, places }: { readonly steps: readonly string[]; readonly places: TablePlan | null },
  style: LengthStyle,
): void {
  const { sheet } = flow;
  const gap = 7;
  const cutting = list.cutCount > 0;
  const leftWidth = cutting ? (flow.width - gap) * 0.6 : 0;
  const rightX = cutting ? flow.left + leftWidth + gap : flow.left;
  const rightWidth = flow.left + flow.width - rightX;
  const steps = cutting ? allSteps : [];
  const tidy = (items: readonly string[], bullet: (i: number) => string, x: number, y: number): number =>
    drawList(sheet, items, bullet, x, y, leftWidth);
  const leftHeight = cutting ? listHeight(sheet, steps, leftWidth) + listHeight(sheet, cautions, leftWidth) + 11 : 0;
  const planMost = cutting ? 62 : 110;
  const crowded = cutting && list.fillers.length > mostFillersOnSmallPlan;
  const planHeight =
    places === null || crowded ? 0 : 5 + tablePlanHeightMm(places.report, places.runs, rightWidth, planMost);
  const facts = expectations(list, plan, style);
  const factsHeight = facts.reduce((sum, f) => sum + sheet.textHeight(f, rightWidth, adviceStyle) + 0.6, 0);
  flow.need(Math.max(leftHeight, planHeight + factsHeight) + 2);
  flow.y += 1;
  let y = flow.y;
  if (cutting) {
    y += sheet.text('How to cut', flow.left, y, leftWidth, { sizePt: 11, bold: true, role: 'H2' });
    y = tidy(steps, (i) => `${i + 1}`, flow.left, y);
    y += sheet.text('Take care', flow.left, y + 0.5, leftWidth, { sizePt: 11, bold: true, role: 'H2' }) + 0.5;
    y = tidy(cautions, () => '!', flow.left, y);
  }
  let rightY = flow.y;
  if (places !== null && !crowded) {
    sheet.text(list.fillers.length > 0 ? 'Where they go' : 'The table', rightX, rightY, rightWidth, {
      sizePt: 11,
      bold: true,
      role: 'H2',
    });
    drawTablePlan(sheet, rightX, rightY + 5, rightWidth, planMost, places);
    rightY += planHeight + 1;
  }
  for (const fact of facts) rightY += sheet.text(fact, rightX, rightY, rightWidth, adviceStyle) + 0.6;
  flow.y = Math.max(y, rightY);
  if (places !== null && crowded) drawWidePlan(flow, places);
}

/** More names than this need a plan over the whole width. */
const mostFillersOnSmallPlan = 12;

function drawWidePlan(flow: PageFlow, places: TablePlan): void {
  const height = tablePlanHeightMm(places.report, places.runs, flow.width, 120);
  flow.heading('Where they go', height);
  drawTablePlan(flow.sheet, flow.left, flow.y, flow.width, 120, places);
  flow.y += height;
}

function smallPlan(list: CutList, runs: readonly LaidRun[], report: Report | null): TablePlan | null {
  if (report === null) return null;
  const spots = list.fillers.flatMap((filler) => {
    const at = fillerPoint(filler, runs, report);
    return at === null ? [] : [{ name: filler.id, at }];
  });
  const names = spots.map((s) => s.name).join(', ');
  const alt = `Plan of the table from above${names === '' ? '' : ` with the places of the fillers ${names}`}.`;
  return { report, runs, spots, accessories: [], alt };
}

function listHeight(sheet: Sheet, items: readonly string[], width: number): number {
  return items.reduce((sum, item) => sum + sheet.textHeight(item, width - 4.5, adviceStyle) + 0.5, 0);
}

function drawList(
  sheet: Sheet,
  items: readonly string[],
  bullet: (i: number) => string,
  x: number,
  top: number,
  width: number,
): number {
  let y = top;
  sheet.within('L', () => {
    items.forEach((item, i) => {
      sheet.within('LI', () => {
        sheet.line(bullet(i), x, y, 4, { ...adviceStyle, bold: true, role: 'Lbl' });
        y += sheet.text(item, x + 4.5, y, width - 4.5, { ...adviceStyle, role: 'LBody' }) + 0.5;
      });
    });
  });
  return y;
}
