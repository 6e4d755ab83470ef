import type { OpenCv } from 'opencv-wasm';

/** The library, and what its thrown numbers mean. */
export interface LoadedOpenCv {
  readonly cv: OpenCv;
  readonly errorText: (thrown: unknown) => string;
}

let loading: Promise<LoadedOpenCv> | null = null;

/**
 * Loads OpenCV (WebAssembly, 128 MiB that grow and never shrink) once, when it is first needed; about a quarter of a
 * second. For the measuring process and the command line only, never for the server's own.
 */
export function loadOpenCv(): Promise<LoadedOpenCv> {
  loading ??= load();
  return loading;
}

/** The library puts handlers of its own on the process, which would swallow faults: they are taken off again. */
const faults = ['uncaughtException', 'unhandledRejection'] as const;

async function load(): Promise<LoadedOpenCv> {
  const before = faults.map((name) => process.rawListeners(name));
  // The library itself looks like a promise: handed on bare, it would be waited for without end.
  const { default: wasm } = await import('opencv-wasm');
  faults.forEach((name, i) => {
    for (const listener of process.rawListeners(name))
      if (!before[i].includes(listener)) process.removeListener(name, listener as () => void);
  });
  const { cv, cvTranslateError } = wasm;
  return { cv, errorText: (thrown) => String(cvTranslateError(cv, thrown) ?? thrown) };
}
