/**
 * The frames of design and their points. A point carries its frame in its type, so that photo pixels and table
 * millimetres cannot be mixed; only the constructors here make the tag.
 *
 * - photo: pixels of one upright photo, x right, y down, pixel centres at integers
 * - table: millimetres on the table top, z up, right-handed
 * - plan: pixels of the picture of the table seen from straight above, pixel centres at integers
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

export interface PlanPoint {
  readonly x: number;
  readonly y: number;
  readonly [frameTag]: 'plan';
}

export function photoPoint(x: number, y: number): PhotoPoint {
  return { x, y } as PhotoPoint;
}

export function tablePoint(x: number, y: number): TablePoint {
  return { x, y } as TablePoint;
}

export function planPoint(x: number, y: number): PlanPoint {
  return { x, y } as PlanPoint;
}
