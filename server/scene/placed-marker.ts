/** A marker lying on the table: its middle, its turn and its printed side. */
export interface PlacedMarker {
  readonly id: number;
  readonly x: number;
  readonly y: number;
  readonly turnRad: number;
}

const cornerSigns = [
  [-1, 1],
  [1, 1],
  [1, -1],
  [-1, -1],
] as const;

/** Corner k of a marker, table frame: printed upper left first, seen from above. */
export function markerCornerInTable(marker: Omit<PlacedMarker, 'id'>, sideMm: number, k: number): [number, number] {
  const c = Math.cos(marker.turnRad);
  const s = Math.sin(marker.turnRad);
  const a = (cornerSigns[k][0] * sideMm) / 2;
  const b = (cornerSigns[k][1] * sideMm) / 2;
  return [marker.x + c * a - s * b, marker.y + s * a + c * b];
}
