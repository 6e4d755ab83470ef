/** A car as the train room sees it, millimetres. */
export interface Car {
  readonly lengthMm: number;
  readonly truckCentresMm: number;
  readonly widthMm: number;
}
