/**
 * Linear light, 0…1, of each 8-bit code of an sRGB picture (IEC 61966-2-1:1999). Blur acts before a camera's tone
 * curve, so edges are looked for in linear light; in the coded picture a bright area reaches about a quarter of a pixel
 * too far.
 */
export const linearFromCode: Float32Array = Float32Array.from({ length: 256 }, (_, code) => {
  const c = code / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
});

/** The same for every quarter of a code. */
const lightFromQuarterCode = Float32Array.from({ length: 1021 }, (_, quarter) => {
  const low = Math.floor(quarter / 4);
  const part = quarter / 4 - low;
  return linearFromCode[low] * (1 - part) + linearFromCode[Math.min(255, low + 1)] * part;
});

/**
 * Linear light, 0…1, of a pixel's luma (ITU-R BT.601, the weights of JPEG). Luma is what JPEG keeps at full resolution;
 * for black and white under light of any tint it is linear light but for a factor.
 */
export function lightOfPixel(red: number, green: number, blue: number): number {
  return lightFromQuarterCode[Math.round(1.196 * red + 2.348 * green + 0.456 * blue)];
}
