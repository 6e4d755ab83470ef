import type { Plan } from '../contract/plan.js';
import type { Report } from '../contract/report.js';
import { lengthsIn } from '../units/both-units.js';
import { halfWidth95 } from '../units/estimate.js';
import { bothUnits } from '../units/exact-length.js';
import { formatFinely, type LengthStyle } from '../units/format-length.js';
import { laidTrack } from './laid-track.js';
import { type Accessory, accessoryCorners } from './layout-drawing.js';
import { drawMessageBox } from './message-box.js';
import { drawFeet, PageFlow } from './page-flow.js';
import type { Paper } from './paper.js';
import { Sheet } from './sheet.js';
import { type Cell, type Column, drawTable } from './table-drawing.js';
import { drawTablePlan, tablePlanHeightMm } from './table-plan.js';
import { offsetsOf, type Station, tapeStations } from './tape-stations.js';

export interface SettingOutOptions {
  readonly paper: Paper;
  readonly style: LengthStyle;
  readonly tableName: string;
  readonly accessories: readonly Accessory[];
  readonly created?: Date;
}

/**
 * The sheet for the table: tape offsets from two table edges for each station, in the order of laying, so that the
 * layout (planned where a plan is given, else as measured) can be put down with a tape alone, and the accessories' places.
 */
export async function settingOutPdf(
  report: Report,
  plan: Plan | null,
  options: SettingOutOptions,
): Promise<Uint8Array> {
  const created = options.created ?? new Date();
  const title = options.tableName === '' ? 'Setting-out sheet' : `Setting-out sheet: ${options.tableName}`;
  const subject = 'Tape offsets from the table edges, in the order of laying.';
  const sheet = new Sheet({ paper: options.paper, title, subject, created });
  const flow = new PageFlow(sheet, title);
  const runs = laidTrack(report, plan);
  const stations = tapeStations(report, runs);
  flow.newPage();
  drawHead(flow, plan, options, created);
  flow.paragraph(howTo(report, options.style), { sizePt: 9.5 });
  const most = stations.length > 16 ? 110 : 85;
  const height = tablePlanHeightMm(report, runs, flow.width, most);
  flow.need(height);
  drawTablePlan(sheet, flow.left, flow.y, flow.width, most, {
    report,
    runs,
    spots: stations.map((s) => ({ name: String(s.number), at: s.at })),
    accessories: options.accessories,
    alt: `Plan of the table from above with the numbered places 1 to ${stations.length}.`,
  });
  flow.y += height + 1;
  drawStations(flow, stations, options.style);
  drawAccessories(flow, report, options);
  drawFeet(sheet, [options.tableName, created.toISOString().slice(0, 10)].filter((s) => s !== '').join(' · '));
  return sheet.finish();
}

function drawHead(flow: PageFlow, plan: Plan | null, options: SettingOutOptions, created: Date): void {
  flow.title('Setting-out sheet', options.tableName, created);
  flow.paragraph(plan === null ? 'The layout as it was measured.' : 'The layout as planned, with its fillers in.', {
    sizePt: 10.5,
    bold: true,
  });
  const unsure =
    plan?.warnings.filter((w) => w.code === 'too-uncertain-to-cut').map((w) => lengthsIn(w.message, options.style)) ??
    [];
  if (unsure.length > 0) drawMessageBox(flow, 'NOT SURE ENOUGH YET', unsure.slice(0, 4), true);
}

function howTo(report: Report, style: LengthStyle): string {
  const us = report.clearances.map((c) => halfWidth95(c.distance));
  const known =
    us.length === 0
      ? ''
      : ` The table was measured to about ± ${formatFinely(Math.max(...us), style)} (95 %): do not chase finer than that.`;
  return (
    'Unplug the transformer. Hold the tape level and square to the table edge, and read it at the middle of the centre rail. ' +
    'Lay from place 1 on; check the nearer edge first, then the other. Push the joints home before you read.' +
    known
  );
}

function drawStations(flow: PageFlow, stations: readonly Station[], style: LengthStyle): void {
  const columns: Column[] = [
    { head: '', share: 6 },
    { head: 'No.', share: 12, style: { sizePt: 11, bold: true } },
    { head: 'Run', share: 14 },
    { head: 'Place on the centre rail', share: 62 },
    { head: 'From the nearer edge', share: 52, style: { sizePt: 10.5, bold: true } },
    { head: 'And from', share: 52, style: { sizePt: 10.5, bold: true } },
  ];
  const rows = stations.map((station): Cell[] => [
    'tick',
    [String(station.number)],
    [station.run],
    [station.what],
    offsetCell(station.offsets[0], style),
    offsetCell(station.offsets[1], style),
  ]);
  if (rows.length === 0) flow.paragraph('No track was measured, so there is nothing to set out.');
  else drawTable(flow, columns, rows);
}

function offsetCell(offset: { side: string; lengthMm: number } | undefined, style: LengthStyle): Cell {
  if (offset === undefined) return ['—'];
  const words = bothUnits(offset.lengthMm, style);
  return [`${offset.side}: ${words.first.replace('≈ ', '')} · ${words.second.replace('≈ ', '')}`];
}

/** Each accessory by two neighbouring corners, so that its turn is fixed too. */
function drawAccessories(flow: PageFlow, report: Report, options: SettingOutOptions): void {
  if (options.accessories.length === 0) return;
  flow.heading('Accessories', 14);
  const columns: Column[] = [
    { head: '', share: 6 },
    { head: 'Accessory', share: 44, style: { bold: true } },
    { head: 'Size', share: 50 },
    { head: 'First corner', share: 48 },
    { head: 'Next corner along its width', share: 48 },
  ];
  const { style } = options;
  const rows = options.accessories.map((accessory): Cell[] => {
    const corners = accessoryCorners(accessory).slice(0, 2);
    const cornerCells = corners.map((corner) =>
      offsetsOf(corner, report.table.sides).map(
        (o) => `${o.side}: ${bothUnits(o.lengthMm, style).first.replace('≈ ', '')}`,
      ),
    );
    const size = [accessory.widthMm, accessory.depthMm]
      .map((mm) => bothUnits(mm, style).first.replace('≈ ', ''))
      .join(' × ');
    return ['tick', [accessory.name], [size], cornerCells[0], cornerCells[1]];
  });
  drawTable(flow, columns, rows);
}
