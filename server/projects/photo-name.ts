/** Greatest length of a photo's name as shown; file systems take 255 bytes, a line on a phone far less. */
const mostCharacters = 80;

/**
 * The name that a photo is shown and reported by: without folders, control characters and directions of writing, not
 * too long, and different from every other name of the table. It is never used as a file's name.
 * @param given the name as the device sent it
 * @param taken names of the table's other photos
 */
export function photoName(given: string, taken: readonly string[]): string {
  const base = given.split(/[\\/]/).at(-1) ?? '';
  const plain = base
    // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what is to be taken out
    .replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u202a-\u202e\u2066-\u2069\ufffd]/g, '')
    .trim();
  const name = shorten(plain === '' || plain === '.' || plain === '..' ? 'photo' : plain);
  if (!taken.includes(name)) return name;
  const dot = name.lastIndexOf('.');
  const [stem, ending] = dot > 0 ? [name.slice(0, dot), name.slice(dot)] : [name, ''];
  for (let n = 2; ; n++) {
    const other = `${stem} (${n})${ending}`;
    if (!taken.includes(other)) return other;
  }
}

function shorten(name: string): string {
  const characters = [...name];
  if (characters.length <= mostCharacters) return name;
  const ending = /\.[A-Za-z0-9]{1,5}$/.exec(name)?.[0] ?? '';
  return characters.slice(0, mostCharacters - ending.length - 1).join('') + '…' + ending;
}
