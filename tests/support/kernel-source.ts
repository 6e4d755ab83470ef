import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** SHA-256 of the source of compiled inner loops, as server/kernels/build.mjs writes it beside what it compiles. */
export function sha256Of(kernel: string): string {
  const path = fileURLToPath(new URL(`../../server/kernels/${kernel}.ts`, import.meta.url));
  return createHash('sha256').update(readFileSync(path, 'utf8').replaceAll('\r\n', '\n')).digest('hex');
}
