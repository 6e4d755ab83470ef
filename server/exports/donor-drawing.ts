import { bothUnits, bothUnitsInLine, markStyle } from '../units/exact-length.js';
import type { LengthStyle } from '../units/format-length.js';
import { type CutList, calledDonor, type DonorCuts, donorName } from './cut-list.js';
import type { PageFlow } from './page-flow.js';
import type { Sheet } from './sheet.js';

const columnGapMm = 8;
/** Pins stick out this far in the drawing; their real length does not matter for the marks. */
const pinMm = 5;
const bodyHeightMm = 7.5;
/** Title and the circles with the order of cuts. */
const headHeightMm = 10.6;
const labelStyle = { sizePt: 8.5, role: null } as const;
const smallStyle = { sizePt: 8, grey: 0.2, role: null } as const;

/** Draws every donor with its marks, kerfs, order of cuts, ties and pins; two beside each other where there are many. */
export function drawDonors(flow: PageFlow, list: CutList, style: LengthStyle): void {
  const donors = list.donors.filter((d) => !d.whole);
  const columns = donors.length > 2 ? 2 : 1;
  const width = (flow.width - columnGapMm * (columns - 1)) / columns;
  const longest = Math.max(...donors.map((d) => d.lengthMm));
  const scale = (width - pinMm - 1) / longest;
  for (let i = 0; i < donors.length; i += columns) {
    const row = donors.slice(i, i + columns);
    const heights = row.map((donor) => donorHeight(donor, scale, style, flow.sheet, width));
    flow.need(Math.max(...heights));
    row.forEach((donor, c) => {
      const x = flow.left + c * (width + columnGapMm);
      const name = donorName(list, donor.id);
      flow.sheet.figure(inWords(donor, style), () =>
        drawDonor(flow.sheet, donor, name, x, flow.y, width, scale, style),
      );
    });
    flow.y += Math.max(...heights);
  }
}

/** The whole drawing as one sentence after the other, for those who have it read out. */
function inWords(donor: DonorCuts, style: LengthStyle): string {
  const cuts = donor.cuts.map(
    (c) => `cut ${c.order} beyond the mark at ${bothUnitsInLine(c.markMm, markStyle(style))}`,
  );
  return `${calledDonor(donor.id)}, ${bothUnitsInLine(donor.lengthMm, style)}, from its pinned end: ${cuts.join('; ') || 'no cut'}. ${donorNotes(donor, style).join(' ')}`;
}

/** What a person must know of this donor beside the drawing. */
function donorNotes(donor: DonorCuts, style: LengthStyle): string[] {
  const notes: string[] = [];
  if (donor.freed) notes.push('This section comes out of the layout.');
  if (donor.tiesToAdd.length > 0) {
    notes.push(`Add a tie with its insulator to ${donor.tiesToAdd.join(', ')}: this donor has too few.`);
  }
  if (donor.fileAwayMm > 0) {
    notes.push(
      `File ${bothUnits(donor.fileAwayMm, { ...style, unit: 'mm' }).first} off the sold end instead of sawing.`,
    );
  }
  return notes;
}

interface MarkLabel {
  /** Where the mark is, and where the middle of its label is. */
  readonly at: number;
  readonly x: number;
  readonly row: number;
  readonly first: string;
  readonly second: string;
}

/** Labels of neighbouring marks go to a lower row where they would touch. */
function markLabels(sheet: Sheet, donor: DonorCuts, bodyX: number, scale: number, style: LengthStyle): MarkLabel[] {
  const ends: number[] = [];
  return donor.cuts.map((cut) => {
    const words = bothUnits(cut.markMm, markStyle(style));
    const half = Math.max(sheet.textWidth(words.first, labelStyle), sheet.textWidth(words.second, smallStyle)) / 2;
    const at = bodyX + cut.markMm * scale;
    const x = Math.min(at, bodyX + donor.lengthMm * scale + 1 - half);
    let row = ends.findIndex((end) => end < x - half - 1);
    if (row < 0) row = ends.length;
    ends[row] = x + half;
    return { at, x, row, first: words.first, second: words.second };
  });
}

function donorHeight(donor: DonorCuts, scale: number, style: LengthStyle, sheet: Sheet, width: number): number {
  const labels = markLabels(sheet, donor, pinMm, scale, style);
  const rows = labels.length === 0 ? 0 : 1 + Math.max(...labels.map((l) => l.row));
  const notes = donorNotes(donor, style).join(' ');
  const notesHeight = notes === '' ? 0 : sheet.textHeight(notes, width, smallStyle) + 0.5;
  return headHeightMm + bodyHeightMm + 2.6 + rows * 7 + notesHeight + 2;
}

function drawDonor(
  sheet: Sheet,
  donor: DonorCuts,
  fullName: string,
  x: number,
  y: number,
  width: number,
  scale: number,
  style: LengthStyle,
): void {
  const offcut = donor.offcutMm > 0.05 ? `offcut ${bothUnitsInLine(donor.offcutMm, style)}` : 'no offcut';
  const about = ` · ${bothUnitsInLine(donor.lengthMm, style)} · ${offcut}`;
  const aboutWidth = sheet.textWidth(about, labelStyle);
  const name = sheet.shorten(fullName, width - aboutWidth, { sizePt: 9.5, bold: true });
  sheet.line(name, x, y, width, { sizePt: 9.5, bold: true, role: null });
  sheet.line(about, x + sheet.textWidth(name, { sizePt: 9.5, bold: true }), y + 0.3, width, labelStyle);
  const bodyX = x + pinMm;
  const bodyY = y + headHeightMm;
  drawBody(sheet, donor, bodyX, bodyY, scale);
  const labels = markLabels(sheet, donor, bodyX, scale, style);
  const below = bodyY + bodyHeightMm + 2.6;
  for (const label of labels) {
    const top = below + label.row * 7;
    if (label.row > 0)
      sheet.stroke(
        [
          [label.at, below - 0.5],
          [label.at, top],
        ],
        { widthMm: 0.12, grey: 0.4 },
      );
    sheet.text(label.first, label.x - 20, top - 0.6, 40, { ...labelStyle, bold: true, align: 'center' });
    sheet.text(label.second, label.x - 20, top + 2.7, 40, { ...smallStyle, align: 'center' });
  }
  const rows = labels.length === 0 ? 0 : 1 + Math.max(...labels.map((l) => l.row));
  const notes = donorNotes(donor, style).join(' ');
  if (notes !== '') sheet.text(notes, x, below + rows * 7 + 0.3, width, smallStyle);
}

function drawBody(sheet: Sheet, donor: DonorCuts, x: number, y: number, scale: number): void {
  const end = x + donor.lengthMm * scale;
  for (const place of donor.tiesMm) {
    sheet.rectangle(x + place * scale - 1.4, y - 1.2, 2.8, bodyHeightMm + 2.4, 0.82, { widthMm: 0.15, grey: 0.4 });
  }
  sheet.rectangle(x, y, end - x, bodyHeightMm, 1, { widthMm: 0.3 });
  for (const place of donor.tiesMm) {
    sheet.rectangle(x + place * scale - 1.4, y, 2.8, bodyHeightMm, 0.93, null);
  }
  for (const at of [0.16, 0.5, 0.84]) {
    const rail = y + bodyHeightMm * at;
    sheet.stroke(
      [
        [x - pinMm + 0.5, rail],
        [x, rail],
      ],
      { widthMm: 0.7, grey: 0.35 },
    );
  }
  donor.pieces.forEach((piece) => {
    const from = x + piece.fromMm * scale;
    const room = piece.lengthMm * scale - 1;
    const sizePt = sheet.textWidth(piece.filler, { sizePt: 11, bold: true }) <= room ? 11 : 8;
    sheet.line(piece.filler, from + 0.5, y + (sizePt === 11 ? 1.2 : 1.8), room, {
      sizePt,
      bold: true,
      align: 'center',
      role: null,
    });
  });
  if (donor.offcutMm * scale > 12) {
    const from = x + (donor.lengthMm - donor.offcutMm) * scale;
    sheet.line('offcut', from, y + 1.6, donor.offcutMm * scale, {
      sizePt: 8.5,
      grey: 0.35,
      align: 'center',
      role: null,
    });
  }
  for (const cut of donor.cuts) {
    const mark = x + cut.markMm * scale;
    sheet.rectangle(mark, y - 1.6, Math.max(cut.kerfMm * scale, 0.5), bodyHeightMm + 3.2, 0);
    sheet.circle(mark, y - 3.4, 1.9, 1, { widthMm: 0.25 });
    sheet.text(String(cut.order), mark - 4, y - 5.25, 8, { sizePt: 8.5, bold: true, align: 'center', role: null });
  }
}
