import { DxfWriter, point2d, point3d, TextHorizontalAlignment, Units } from '@tarikjabiri/dxf';
import { mmPerInch } from '../units/inches.js';
import type { Drawing, DrawingPoint, Shape } from './drawing.js';

/**
 * Writes a drawing as DXF (release 2007, text in UTF-8) in the user's unit, which the file names in $INSUNITS (1 inch,
 * 4 millimetres) and $MEASUREMENT; one DXF layer for each layer, y up.
 */
export function drawingDxf(drawing: Drawing, unit: 'in' | 'mm'): string {
  const writer = new DxfWriter();
  writer.document.setUnits(unit === 'in' ? Units.Inches : Units.Millimeters);
  writer.setVariable('$MEASUREMENT', { 70: unit === 'in' ? 0 : 1 });
  for (const layer of drawing.layers) writer.document.tables.addLayer(layer.name, layer.colourIndex, 'Continuous');
  const perUnit = unit === 'in' ? mmPerInch : 1;
  for (const shape of drawing.shapes) addShape(writer, shape, perUnit);
  return writer.stringify();
}

function addShape(writer: DxfWriter, shape: Shape, mmPerUnit: number): void {
  const space = writer.modelSpace;
  const options = { layerName: shape.layer };
  const point = (p: DrawingPoint) => point3d(p[0] / mmPerUnit, p[1] / mmPerUnit, 0);
  switch (shape.kind) {
    case 'line':
      space.addLine(point(shape.from), point(shape.to), options);
      return;
    case 'polyline': {
      const vertices = shape.points.map((p) => ({ point: point2d(p[0] / mmPerUnit, p[1] / mmPerUnit) }));
      space.addLWPolyline(vertices, { ...options, flags: shape.closed ? 1 : 0 });
      return;
    }
    case 'circle':
      space.addCircle(point(shape.centre), shape.radiusMm / mmPerUnit, options);
      return;
    case 'arc': {
      const first = shape.sweepRad >= 0 ? shape.startRad : shape.startRad + shape.sweepRad;
      const last = first + Math.abs(shape.sweepRad);
      space.addArc(point(shape.centre), shape.radiusMm / mmPerUnit, inDegrees(first), inDegrees(last), options);
      return;
    }
    case 'text': {
      const at = point(shape.at);
      const middle = { horizontalAlignment: TextHorizontalAlignment.Center, secondAlignmentPoint: at };
      const text = shape.text.replace(/\p{Cc}+/gu, ' ');
      space.addText(at, shape.heightMm / mmPerUnit, text, shape.middle ? { ...options, ...middle } : options);
      return;
    }
  }
}

/** DXF angles are degrees from 0 to 360, counter-clockwise from x. */
function inDegrees(angleRad: number): number {
  const degrees = (angleRad * 180) / Math.PI;
  return ((degrees % 360) + 360) % 360;
}
