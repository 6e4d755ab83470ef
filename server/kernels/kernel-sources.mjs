import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/**
 * What a kernel is compiled from: its own file, then its parts in the folder of its name, in the order of their names;
 * line ends as on every machine.
 */
export function kernelSources(name) {
  const at = (path) => fileURLToPath(new URL(path, import.meta.url));
  const parts = existsSync(at(name)) ? readdirSync(at(name)).sort() : [];
  return [`${name}.ts`, ...parts.map((part) => `${name}/${part}`)]
    .map((path) => readFileSync(at(path), 'utf8').replaceAll('\r\n', '\n'))
    .join('');
}
