import { create, type Font } from 'fontkit';
import { loadFonts } from './fonts.js';

let bold: Font | undefined;

/** A line of text as SVG path data, so that a picture looks the same on machines without fonts. */
export interface TextPath {
  /** Path data with its base line's left end at 0, 0, y down, in units of the picture. */
  readonly data: string;
  readonly width: number;
}

/** @param size height of the type in the picture's units (the distance that the typeface calls 1 em) */
export function textPath(text: string, size: number): TextPath {
  bold ??= create(Buffer.from(loadFonts().bold)) as Font;
  const scale = size / bold.unitsPerEm;
  const run = bold.layout(text);
  let x = 0;
  const parts: string[] = [];
  run.glyphs.forEach((glyph, i) => {
    const place = run.positions[i];
    const path = glyph.path.scale(scale, -scale).translate((x + place.xOffset) * scale, -place.yOffset * scale);
    parts.push(path.toSVG());
    x += place.xAdvance;
  });
  return { data: parts.join(' '), width: x * scale };
}
