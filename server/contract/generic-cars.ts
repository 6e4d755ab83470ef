/** A car as the train room sees it, millimetres. */
export interface Car {
  readonly lengthMm: number;
  readonly truckCentresMm: number;
  readonly widthMm: number;
}

/** A few sizes to start from, with 1 1/4 in gauge: common practice, no source. Measure your own longest car. */
export const genericCars: readonly { readonly name: string; readonly car: Car }[] = [
  { name: 'short car, 9 in', car: { lengthMm: 228.6, truckCentresMm: 139.7, widthMm: 63.5 } },
  { name: 'middling car, 11 in', car: { lengthMm: 279.4, truckCentresMm: 190.5, widthMm: 63.5 } },
  { name: 'long car, 15 in', car: { lengthMm: 381, truckCentresMm: 266.7, widthMm: 69.9 } },
  { name: 'very long car, 21 in', car: { lengthMm: 533.4, truckCentresMm: 381, widthMm: 76.2 } },
];
