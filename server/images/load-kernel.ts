/** The part of WebAssembly that is needed, which the types of Node.js 20 leave out. */
interface WebAssemblyApi {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object) => { readonly exports: unknown };
}

/** Inner loops as WebAssembly with its memory; server/kernels/build.mjs makes them. */
export interface KernelExports {
  readonly memory: { readonly buffer: ArrayBuffer };
}

export interface LoadedKernel<T extends KernelExports> {
  /** The compiled module, which can be handed to another thread. */
  module(): object;
  /** A new instance, with new memory that goes when the instance goes. */
  instance(): T;
}

/** Makes a WebAssembly module ready to be run again and again; it is compiled when it is first asked for. */
export function loadKernel<T extends KernelExports>(wasmBase64: string): LoadedKernel<T> {
  const { WebAssembly } = globalThis as unknown as { WebAssembly: WebAssemblyApi };
  let compiled: object | undefined;
  const module = (): object => {
    compiled ??= new WebAssembly.Module(Buffer.from(wasmBase64, 'base64'));
    return compiled;
  };
  return { module, instance: () => new WebAssembly.Instance(module()).exports as T };
}
