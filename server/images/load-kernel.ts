/** The part of WebAssembly that is needed, which the types of Node.js 20 leave out. */
interface WebAssemblyApi {
  readonly Module: new (bytes: Uint8Array) => object;
  readonly Instance: new (module: object, imports?: object) => { readonly exports: unknown };
  readonly Memory: new (size: { initial: number; maximum: number; shared: true }) => SharedMemory;
}

/** Inner loops as WebAssembly with its memory; server/kernels/build.mjs makes them. */
export interface KernelExports {
  readonly memory: { readonly buffer: ArrayBuffer };
}

export interface LoadedKernel<T> {
  /** The compiled module, which can be handed to another thread. */
  module(): object;
  /**
   * A new instance.
   * @param memory for a kernel that does not bring its own; without it, new memory goes when the instance goes
   */
  instance(memory?: SharedMemory): T;
}

/** Memory that several threads see; it can be handed to another thread. */
export interface SharedMemory {
  readonly buffer: SharedArrayBuffer;
}

/** Pages of 64 kB that such memory may grow to, 2 GB; those that are not used cost nothing. */
const sharedPages = 32768;

/** New memory for the instances of a kernel that does not bring its own. */
export function newSharedMemory(): SharedMemory {
  return new webAssembly.Memory({ initial: 1, maximum: sharedPages, shared: true });
}

const { WebAssembly: webAssembly } = globalThis as unknown as { WebAssembly: WebAssemblyApi };

/** Makes a WebAssembly module ready to be run again and again; it is compiled when it is first asked for. */
export function loadKernel<T>(wasmBase64: string): LoadedKernel<T> {
  let compiled: object | undefined;
  const module = (): object => {
    compiled ??= new webAssembly.Module(Buffer.from(wasmBase64, 'base64'));
    return compiled;
  };
  const imports = (memory?: SharedMemory): object => (memory ? { env: { memory } } : {});
  return { module, instance: (memory) => new webAssembly.Instance(module(), imports(memory)).exports as T };
}
