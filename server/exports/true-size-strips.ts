import { bothUnits, bothUnitsInLine } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CutList, type DonorCuts, donorName } from './cut-list.js';
import type { PageFlow } from './page-flow.js';
import type { Sheet } from './sheet.js';

/** One part of a donor's strip, as far as it fits on a page. */
export interface StripPart {
  readonly donor: DonorCuts;
  readonly fromMm: number;
  readonly toMm: number;
  /** 1 is the part with the pinned end. */
  readonly number: number;
  readonly of: number;
}

const stripHeightMm = 13;
const rowHeightMm = 24;
const labelStyle = { sizePt: 8.5, role: null } as const;

/**
 * Splits a strip where it is longer than the page: at whole centimetres, not within 6 mm of a mark where that can be
 * helped, so that no mark falls on a glued joint.
 */
export function stripParts(donor: DonorCuts, mostMm: number): StripPart[] {
  const breaks = [0];
  let from = 0;
  while (donor.lengthMm - from > mostMm) {
    let at = Math.floor((from + mostMm) / 10) * 10;
    while (at - from > mostMm / 2 && donor.cuts.some((c) => Math.abs(c.markMm - at) < 6)) at -= 10;
    breaks.push(at);
    from = at;
  }
  breaks.push(donor.lengthMm);
  return breaks.slice(1).map((toMm, i) => ({ donor, fromMm: breaks[i], toMm, number: i + 1, of: breaks.length - 1 }));
}

/** Pages with a strip for each donor at true size, along the longer side of the paper. */
export function drawStripPages(flow: PageFlow, list: CutList, style: LengthStyle): void {
  const { sheet } = flow;
  flow.newPage(true);
  const most = flow.width;
  flow.y +=
    sheet.text('Strips at true size', flow.left, flow.y, flow.width, { sizePt: 13, bold: true, role: 'H2' }) + 0.5;
  flow.paragraph(
    'Cut a strip out and lay its upper edge along the rail, the end marked “pinned end” flush with the face of the rail, not with the pins. ' +
      'Scribe the marks; saw in the black, on the far side of the mark. A longer donor comes in parts: join them line on line.',
    { sizePt: 9 },
  );
  for (const donor of list.donors.filter((d) => d.cuts.length > 0)) {
    for (const part of stripParts(donor, most)) {
      flow.need(rowHeightMm);
      drawPart(sheet, part, donorName(list, donor.id), flow.left, flow.y, style);
      flow.y += rowHeightMm;
    }
  }
}

function drawPart(sheet: Sheet, part: StripPart, name: string, x: number, y: number, style: LengthStyle): void {
  const { donor, fromMm, toMm } = part;
  const title = `${sheet.shorten(name, 90, labelStyle)}, ${bothUnitsInLine(donor.lengthMm, style)}`;
  const partWords =
    part.of > 1 ? `: part ${part.number} of ${part.of}, ${fromMm} mm to ${Math.round(toMm * 10) / 10} mm` : '';
  sheet.line(`${title}${partWords}`, x, y, sheet.widthMm - 2 * x, { sizePt: 9, bold: true });
  const top = y + 4.8;
  sheet.figure(`Strip at true size, ${Math.round((toMm - fromMm) * 10) / 10} mm long.`, () => {
    sheet.rectangle(x, top, toMm - fromMm, stripHeightMm, 1, { widthMm: 0.15 });
    drawScale(sheet, part, x, top, style);
    drawPieces(sheet, part, x, top, style);
    drawMarks(sheet, part, x, top);
    drawEnds(sheet, part, x, top + stripHeightMm + 0.3);
  });
}

/** Small ticks along the lower edge, counted from the pinned end. */
function drawScale(sheet: Sheet, part: StripPart, x: number, top: number, style: LengthStyle): void {
  const step = style.unit === 'in' ? 25.4 / 4 : 5;
  const big = style.unit === 'in' ? 4 : 2;
  for (let i = Math.ceil(part.fromMm / step); i * step < part.toMm; i++) {
    const at = x + i * step - part.fromMm;
    const long = i % big === 0;
    sheet.rectangle(at - 0.06, top + stripHeightMm - (long ? 2 : 1.1), 0.12, long ? 2 : 1.1, 0.35);
  }
}

function drawPieces(sheet: Sheet, part: StripPart, x: number, top: number, style: LengthStyle): void {
  const { donor } = part;
  const spans = [...donor.pieces];
  if (donor.offcutMm > 12)
    spans.push({
      filler: 'offcut',
      lengthMm: donor.offcutMm,
      fromMm: donor.lengthMm - donor.offcutMm,
      toMm: donor.lengthMm,
    });
  for (const span of spans) {
    const from = Math.max(span.fromMm, part.fromMm);
    const to = Math.min(span.toMm, part.toMm);
    if (to - from < 10) continue;
    const left = x + from - part.fromMm + 1;
    const width = to - from - 3;
    const bold = span.filler !== 'offcut';
    sheet.line(span.filler, left, top + 0.6, width, { sizePt: 11, bold, align: 'center', role: null });
    const words = bothUnits(span.lengthMm, style);
    const long = `${words.first} · ${words.second}`;
    const text = sheet.textWidth(long, labelStyle) <= width ? long : words.first;
    sheet.line(text, left, top + 5.6, width, { ...labelStyle, align: 'center' });
  }
}

function drawMarks(sheet: Sheet, part: StripPart, x: number, top: number): void {
  for (const cut of part.donor.cuts) {
    if (cut.markMm <= part.fromMm || cut.markMm > part.toMm) continue;
    const at = x + cut.markMm - part.fromMm;
    const kerf = Math.min(cut.kerfMm, part.toMm - cut.markMm);
    sheet.rectangle(at, top, Math.max(kerf, 0.15), stripHeightMm, 0);
    sheet.stroke(
      [
        [at, top - 1],
        [at, top + stripHeightMm + 1],
      ],
      { widthMm: 0.1 },
    );
    sheet.text(`cut ${cut.order}`, at - 10, top + stripHeightMm + 1, 20, { ...labelStyle, align: 'center' });
  }
}

function drawEnds(sheet: Sheet, part: StripPart, x: number, y: number): void {
  const width = part.toMm - part.fromMm;
  const left = part.number === 1 ? 'pinned end: face of the rail' : `join here at ${part.fromMm} mm`;
  const right = part.number === part.of ? 'sold end' : `join here at ${part.toMm} mm`;
  const cuts = part.donor.cuts.map((c) => c.markMm - part.fromMm).filter((at) => at > 0 && at <= width);
  const leftWidth = sheet.textWidth(left, labelStyle);
  const rightWidth = sheet.textWidth(right, labelStyle);
  const leftAt = clearOfCuts(0, leftWidth, cuts, 1);
  const rightAt = clearOfCuts(width - rightWidth, rightWidth, cuts, -1);
  sheet.line(left, x + leftAt, y, leftWidth + 1, labelStyle);
  if (rightAt > leftAt + leftWidth) sheet.line(right, x + rightAt, y, rightWidth + 1, labelStyle);
}

/** Moves a label along the strip until it is clear of the words under the cuts. */
function clearOfCuts(startMm: number, widthMm: number, cuts: readonly number[], step: 1 | -1): number {
  let at = startMm;
  for (let tries = 0; tries < 60 && cuts.some((c) => c + cutWordMm > at && c - cutWordMm < at + widthMm); tries++) {
    at += 4 * step;
  }
  return at;
}

const cutWordMm = 5;
