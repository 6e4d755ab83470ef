import { setFlagsFromString } from 'node:v8';

/**
 * With these a process is started that measures. The engine throws compiled functions away with the functions that a
 * measurement makes on its way, whenever it looks through all memory; it does that often while what it keeps is small, and
 * then compiles them again for every photo. The first looks are put off until so many megabytes are in use.
 */
export const engineOptions: readonly string[] = ['--max-old-space-size=2048', '--initial-old-space-size=64'];

/** The engine of Node.js 20 and 21; later ones ask for more before they compile, by other means. */
const eagerEngine = 11;

/**
 * What makes the engine wait longer before it compiles a function closely, and put less of other functions into it: of the
 * time that a process took for its first photo two fifths were compiling, on the processors that the measurement needs.
 */
export const patientOptions: readonly string[] =
  Number.parseInt(process.versions.v8, 10) > eagerEngine
    ? []
    : ['--interrupt-budget=600000', '--max-inlined-bytecode-size-cumulative=200'];

/** Makes this process compile less from now on; the same again changes nothing. */
export function compileLess(): void {
  for (const option of patientOptions) setFlagsFromString(option);
}
