/** The part of WebAssembly that is needed, which the types of Node.js 20 leave out. */
interface WebAssemblyApi {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
}

/** Inner loops as WebAssembly with its memory; kernels/build.mjs makes them. */
export interface KernelExports {
  readonly memory: { readonly buffer: ArrayBuffer };
}

/**
 * Makes a WebAssembly module ready to be run again and again.
 * @returns makes a new instance, with new memory that goes when the instance goes
 */
export function loadKernel<T extends KernelExports>(wasmBase64: string): () => T {
  const { WebAssembly } = globalThis as unknown as { WebAssembly: WebAssemblyApi };
  let compiled: object | undefined;
  return () => {
    compiled ??= new WebAssembly.Module(Buffer.from(wasmBase64, 'base64'));
    return new WebAssembly.Instance(compiled).exports as T;
  };
}
