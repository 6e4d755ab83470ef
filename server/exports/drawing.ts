/** A point of a drawing, millimetres, x right, y up. */
export type DrawingPoint = readonly [number, number];

/** One thing drawn; lengths in millimetres, angles in radians, counter-clockwise positive. */
export type Shape =
  | { readonly kind: 'line'; readonly layer: string; readonly from: DrawingPoint; readonly to: DrawingPoint }
  | {
      readonly kind: 'polyline';
      readonly layer: string;
      readonly points: readonly DrawingPoint[];
      readonly closed: boolean;
    }
  | {
      readonly kind: 'arc';
      readonly layer: string;
      readonly centre: DrawingPoint;
      readonly radiusMm: number;
      readonly startRad: number;
      readonly sweepRad: number;
    }
  | { readonly kind: 'circle'; readonly layer: string; readonly centre: DrawingPoint; readonly radiusMm: number }
  | {
      readonly kind: 'text';
      readonly layer: string;
      /** Left end of the base line, or its middle. */
      readonly at: DrawingPoint;
      readonly heightMm: number;
      readonly text: string;
      readonly middle: boolean;
    };

export interface Layer {
  /** Lower case letters, digits and hyphens: both DXF and SVG take it as it is. */
  readonly name: string;
  readonly strokeMm: number;
  /** Index of the AutoCAD colour table, as DXF wants it; 7 is black on white paper. */
  readonly colourIndex: number;
  /** Grey on paper, 0 black … 1 white. */
  readonly grey: number;
}

/** A drawing in layers that SVG and DXF are written from. */
export interface Drawing {
  readonly title: string;
  readonly layers: readonly Layer[];
  readonly shapes: readonly Shape[];
}

export interface Extent {
  readonly minX: number;
  readonly minY: number;
  readonly maxX: number;
  readonly maxY: number;
}

/** The rectangle that holds all shapes; whole circles stand for arcs' parts, texts count with a rough width. */
export function extentOfDrawing(drawing: Drawing): Extent {
  const xs: number[] = [];
  const ys: number[] = [];
  const take = (x: number, y: number) => {
    xs.push(x);
    ys.push(y);
  };
  for (const shape of drawing.shapes) for (const [x, y] of cornersOf(shape)) take(x, y);
  if (xs.length === 0) take(0, 0);
  return { minX: least(xs), minY: least(ys), maxX: most(xs), maxY: most(ys) };
}

function cornersOf(shape: Shape): DrawingPoint[] {
  switch (shape.kind) {
    case 'line':
      return [shape.from, shape.to];
    case 'polyline':
      return [...shape.points];
    case 'circle':
      return [
        [shape.centre[0] - shape.radiusMm, shape.centre[1] - shape.radiusMm],
        [shape.centre[0] + shape.radiusMm, shape.centre[1] + shape.radiusMm],
      ];
    case 'arc':
      return arcPoints(shape, 24);
    case 'text': {
      const width = shape.text.length * shape.heightMm * 0.9;
      const left = shape.middle ? shape.at[0] - width / 2 : shape.at[0];
      return [
        [left, shape.at[1] - shape.heightMm * 0.3],
        [left + width, shape.at[1] + shape.heightMm],
      ];
    }
  }
}

/** Points on an arc from its start to its end. */
export function arcPoints(arc: Extract<Shape, { kind: 'arc' }>, steps: number): DrawingPoint[] {
  return Array.from({ length: steps + 1 }, (_, i) => {
    const angle = arc.startRad + (arc.sweepRad * i) / steps;
    return [arc.centre[0] + arc.radiusMm * Math.cos(angle), arc.centre[1] + arc.radiusMm * Math.sin(angle)] as const;
  });
}

function least(numbers: readonly number[]): number {
  return numbers.reduce((a, b) => Math.min(a, b));
}

function most(numbers: readonly number[]): number {
  return numbers.reduce((a, b) => Math.max(a, b));
}
