import type { PageFlow } from './page-flow.js';

/** A framed message that must not be overlooked: a bold line and sentences under it. */
export function drawMessageBox(flow: PageFlow, title: string, sentences: readonly string[], loud: boolean): void {
  const { sheet } = flow;
  const inside = flow.width - 8;
  const titleStyle = { sizePt: loud ? 16 : 10.5, bold: true, role: 'H2' } as const;
  const style = { sizePt: 9.5 } as const;
  const titleHeight = sheet.textHeight(title, inside, titleStyle);
  const height = sentences.reduce((sum, s) => sum + sheet.textHeight(s, inside, style) + 0.6, titleHeight) + 3.6;
  flow.need(height + 2);
  const top = flow.y + 0.8;
  sheet.rectangle(flow.left, top, flow.width, height, null, { widthMm: loud ? 1.2 : 0.3 });
  let y = top + 1.6;
  y += sheet.text(title, flow.left + 4, y, inside, titleStyle) + 0.6;
  for (const sentence of sentences) y += sheet.text(sentence, flow.left + 4, y, inside, style) + 0.6;
  flow.y = top + height + 2.5;
}
