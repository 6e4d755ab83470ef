import { createHash } from 'node:crypto';
import { kernelSources } from '../../server/kernels/kernel-sources.mjs';

/** SHA-256 of the source of compiled inner loops, as server/kernels/build.mjs writes it beside what it compiles. */
export function sha256Of(kernel: string): string {
  return createHash('sha256').update(kernelSources(kernel)).digest('hex');
}
