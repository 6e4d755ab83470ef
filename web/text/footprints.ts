/**
 * Generic footprints of things that stand beside track, millimetres. Round figures: common practice, no source; the
 * person corrects them to what is in the hand.
 */
export const footprints = [
  { name: 'Small house', widthMm: 150, depthMm: 110 },
  { name: 'Station', widthMm: 330, depthMm: 150 },
  { name: 'Platform', widthMm: 300, depthMm: 75 },
  { name: 'Tower', widthMm: 90, depthMm: 90 },
  { name: 'Signal or gate', widthMm: 60, depthMm: 40 },
  { name: 'Own size', widthMm: 100, depthMm: 100 },
] as const;
