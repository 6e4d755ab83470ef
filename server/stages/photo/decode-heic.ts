import { createRequire } from 'node:module';
import { Worker } from 'node:worker_threads';
import type { Raster } from '../../images/raster.js';

/**
 * The decoder's WebAssembly memory never shrinks (a 48-megapixel photo takes 800 MB), so each photo gets a thread of its
 * own that ends afterwards. The thread's program is given as text because it must run the same from compiled and from
 * uncompiled sources. It packs RGBA to RGB in place and hands its memory over without a copy. Its first statement names
 * the brand that the decoder insists on.
 */
const threadProgram = `
const { parentPort, workerData } = require('node:worker_threads');
const decode = require(workerData.decoder);
const bytes = workerData.bytes;
bytes.set([0x68, 0x65, 0x69, 0x63], 8);
decode({ buffer: bytes }).then(({ width, height, data }) => {
  const count = width * height;
  for (let from = 0, to = 0; from < count * 4; from += 4, to += 3) {
    const alpha = data[from + 3];
    for (let c = 0; c < 3; c++) data[to + c] = alpha === 255 ? data[from + c] : 255 + (data[from + c] - 255) * alpha / 255;
  }
  parentPort.postMessage({ width, height, buffer: data.buffer, offset: data.byteOffset }, [data.buffer]);
}, (error) => parentPort.postMessage({ failed: String(error && error.message || error) }));
`;

type Answer =
  | { readonly width: number; readonly height: number; readonly buffer: ArrayBuffer; readonly offset: number }
  | { readonly failed: string };

/**
 * Decodes the main picture of a HEIC file to 8-bit RGB, turned as its container says; transparent parts on white.
 * About 100 ms a megapixel.
 * @returns null when it cannot be decoded
 */
export async function decodeHeic(bytes: Uint8Array, signal?: AbortSignal): Promise<Raster | null> {
  const decoder = createRequire(import.meta.url).resolve('heic-decode');
  // A copy that owns its memory: a Buffer's memory may be shared with others and must not be handed over.
  const copy = new Uint8Array(bytes);
  const worker = new Worker(threadProgram, {
    eval: true,
    workerData: { decoder, bytes: copy },
    transferList: [copy.buffer],
    stdout: true,
    stderr: true,
  });
  const stop = () => void worker.terminate();
  signal?.addEventListener('abort', stop, { once: true });
  try {
    const answer = await new Promise<Answer>((resolve) => {
      worker.once('message', resolve);
      worker.once('error', (error) => resolve({ failed: String(error) }));
      worker.once('exit', () => resolve({ failed: 'ended early' }));
    });
    signal?.throwIfAborted();
    if ('failed' in answer) return null;
    const { width, height, buffer, offset } = answer;
    return {
      widthPx: width,
      heightPx: height,
      channels: 3,
      data: new Uint8Array(buffer, offset, width * height * 3),
    };
  } finally {
    signal?.removeEventListener('abort', stop);
    await worker.terminate();
  }
}
