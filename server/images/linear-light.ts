/**
 * Linear light, 0…1, of each 8-bit code of an sRGB picture (IEC 61966-2-1:1999). Blur acts before a camera's tone
 * curve, so edges are looked for in linear light; in the coded picture a bright area reaches about a quarter of a pixel
 * too far.
 */
export const linearFromCode: Float32Array = Float32Array.from({ length: 256 }, (_, code) => {
  const c = code / 255;
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
});
