import { type FirstLook, firstLook, type GreyPatch } from './first-look.js';

const patchPx = 256;
const patchesAcross = 5;
const patchesDown = 4;

/** Fetches a photo and looks at patches spread over it. @param url of the photo, as fine as it can be had */
export async function lookAtPhoto(url: string, signal: AbortSignal): Promise<FirstLook> {
  const response = await fetch(url, { signal });
  if (!response.ok) throw new Error(`the photo's answer was ${response.status}`);
  const bitmap = await createImageBitmap(await response.blob());
  try {
    return firstLook(patchesOf(bitmap));
  } finally {
    bitmap.close();
  }
}

function patchesOf(bitmap: ImageBitmap): GreyPatch[] {
  const width = Math.min(patchPx, bitmap.width);
  const height = Math.min(patchPx, bitmap.height);
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (!context) throw new Error('no canvas to look at a photo with');
  const patches: GreyPatch[] = [];
  for (let row = 0; row < patchesDown; row++) {
    for (let column = 0; column < patchesAcross; column++) {
      const x = Math.round(((bitmap.width - width) * column) / (patchesAcross - 1));
      const y = Math.round(((bitmap.height - height) * row) / (patchesDown - 1));
      context.drawImage(bitmap, x, y, width, height, 0, 0, width, height);
      patches.push({ width, height, values: greyOf(context.getImageData(0, 0, width, height).data) });
    }
  }
  return patches;
}

/** Green carries most of the brightness, and is what the markers are read in. */
function greyOf(rgba: Uint8ClampedArray): Uint8Array {
  return Uint8Array.from({ length: rgba.length / 4 }, (_, i) => rgba[4 * i + 1]);
}
