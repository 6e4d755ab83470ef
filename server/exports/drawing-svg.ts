import { arcPoints, type Drawing, type DrawingPoint, extentOfDrawing, type Layer, type Shape } from './drawing.js';

const rimMm = 5;

/**
 * Writes a drawing as SVG at true size: width and height in millimetres, one unit of the view box a millimetre, one
 * group for each layer with the layer's name as its id. y is turned to run down as SVG wants it.
 * @param under elements that lie below the drawing, made with the turn from the drawing to the page
 */
export function drawingSvg(
  drawing: Drawing,
  under: (onPage: (p: DrawingPoint) => DrawingPoint) => readonly string[] = () => [],
): string {
  const extent = extentOfDrawing(drawing);
  const width = extent.maxX - extent.minX + 2 * rimMm;
  const height = extent.maxY - extent.minY + 2 * rimMm;
  const onPage = (p: DrawingPoint): DrawingPoint => [p[0] - extent.minX + rimMm, extent.maxY - p[1] + rimMm];
  const groups = drawing.layers.map((layer) => layerGroup(layer, drawing.shapes, onPage));
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<svg xmlns="http://www.w3.org/2000/svg" width="${num(width)}mm" height="${num(height)}mm" viewBox="0 0 ${num(width)} ${num(height)}" xml:lang="en">`,
    `<title>${escapeXml(drawing.title)}</title>`,
    `<rect width="100%" height="100%" fill="#fff"/>`,
    ...under(onPage),
    ...groups,
    '</svg>',
    '',
  ].join('\n');
}

function layerGroup(layer: Layer, shapes: readonly Shape[], onPage: (p: DrawingPoint) => DrawingPoint): string {
  const ink = greyHex(layer.grey);
  const own = shapes.filter((s) => s.layer === layer.name).map((s) => shapeSvg(s, ink, onPage));
  return [
    `<g id="${layer.name}" fill="none" stroke="${ink}" stroke-width="${num(layer.strokeMm)}">`,
    ...own,
    '</g>',
  ].join('\n');
}

function shapeSvg(shape: Shape, ink: string, onPage: (p: DrawingPoint) => DrawingPoint): string {
  switch (shape.kind) {
    case 'line': {
      const [x1, y1] = onPage(shape.from);
      const [x2, y2] = onPage(shape.to);
      return `<line x1="${num(x1)}" y1="${num(y1)}" x2="${num(x2)}" y2="${num(y2)}"/>`;
    }
    case 'polyline': {
      const points = shape.points.map((p) => onPage(p).map(num).join(',')).join(' ');
      return `<${shape.closed ? 'polygon' : 'polyline'} points="${points}"/>`;
    }
    case 'circle': {
      const [cx, cy] = onPage(shape.centre);
      return `<circle cx="${num(cx)}" cy="${num(cy)}" r="${num(shape.radiusMm)}"/>`;
    }
    case 'arc': {
      const [from, to] = [arcPoints(shape, 1)[0], arcPoints(shape, 1)[1]].map(onPage);
      const long = Math.abs(shape.sweepRad) > Math.PI ? 1 : 0;
      const clockwiseOnPage = shape.sweepRad > 0 ? 0 : 1;
      const radius = num(shape.radiusMm);
      return `<path d="M ${num(from[0])} ${num(from[1])} A ${radius} ${radius} 0 ${long} ${clockwiseOnPage} ${num(to[0])} ${num(to[1])}"/>`;
    }
    case 'text': {
      const [x, y] = onPage(shape.at);
      const anchor = shape.middle ? ' text-anchor="middle"' : '';
      return `<text x="${num(x)}" y="${num(y)}" font-family="sans-serif" font-size="${num(shape.heightMm * 1.4)}" fill="${ink}" stroke="none"${anchor}>${escapeXml(shape.text)}</text>`;
    }
  }
}

/** Four digits after the point: a ten-thousandth of a millimetre. */
function num(value: number): string {
  return String(Number(value.toFixed(4)) + 0);
}

function greyHex(level: number): string {
  const part = Math.round(level * 255)
    .toString(16)
    .padStart(2, '0');
  return `#${part}${part}${part}`;
}

/** Characters that XML 1.0 does not allow are left out. */
function escapeXml(text: string): string {
  return text
    .replace(/[^\t\n\r\u{20}-\u{D7FF}\u{E000}-\u{FFFD}\u{10000}-\u{10FFFF}]/gu, '')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;');
}
