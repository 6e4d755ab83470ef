// The few parts of the package that are used, typed by hand: its own types are mostly `any` and do not compile here.

/** A matrix in the library's own memory, which never shrinks: must be deleted. */
export interface Mat {
  readonly rows: number;
  readonly cols: number;
  /** Views into the library's memory; empty after its memory has grown. Copy what is to stay. */
  readonly data: Uint8Array;
  readonly data32F: Float32Array;
  delete(): void;
}

export interface OpenCv {
  readonly Mat: { new (): Mat; new (rows: number, columns: number, type: number): Mat };
  readonly CV_8UC1: number;
  readonly DIST_L2: number;
  /** Mask size for exact Euclidean distances. */
  readonly DIST_MASK_PRECISE: number;
  /** Distance of every non-zero pixel to the nearest zero one (32-bit floats), by the method of Felzenszwalb and Huttenlocher. */
  distanceTransform(source: Mat, target: Mat, distance: number, maskSize: number): void;
  /** All of the library's memory. */
  readonly HEAPU8: Uint8Array;
}

declare const wasm: {
  readonly cv: OpenCv;
  cvTranslateError(cv: OpenCv, error: unknown): string | Error | undefined;
};
export default wasm;
