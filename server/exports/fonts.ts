import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const require = createRequire(import.meta.url);

/** The two weights of the embedded typeface, Source Sans 3 (SIL Open Font License 1.1): Latin, Greek and Cyrillic. */
export interface Fonts {
  readonly regular: Uint8Array;
  readonly bold: Uint8Array;
}

let loaded: Fonts | undefined;

/** Reads the font files once; they are part of the installed program, so no network is needed. */
export function loadFonts(): Fonts {
  loaded ??= { regular: read('400Regular/SourceSans3_400Regular.ttf'), bold: read('700Bold/SourceSans3_700Bold.ttf') };
  return loaded;
}

function read(path: string): Uint8Array {
  return readFileSync(require.resolve(`@expo-google-fonts/source-sans-3/${path}`));
}
