/**
 * The frames of design and their points. A point carries its frame in its type, so that photo pixels and table
 * millimetres cannot be mixed; only the constructors here make the tag.
 *
 * - photo: pixels of one upright photo, x right, y down, pixel centres at integers
 * - table: millimetres on the table top, z up, right-handed
 */
declare const frameTag: unique symbol;

export interface PhotoPoint {
  readonly x: number;
  readonly y: number;
  readonly [frameTag]: 'photo';
}

export interface TablePoint {
  readonly x: number;
  readonly y: number;
  readonly [frameTag]: 'table';
}

export function photoPoint(x: number, y: number): PhotoPoint {
  return { x, y } as PhotoPoint;
}

export function tablePoint(x: number, y: number): TablePoint {
  return { x, y } as TablePoint;
}
