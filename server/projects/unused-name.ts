import type { TableStore } from './table-store.js';

/** As many letters as a name may have. */
const longest = 80;

/**
 * A name that no other table of the home has: the one asked for, or the same with a number behind, `Birch table (2)`. Where
 * one stands behind it already, it counts on.
 */
export async function unusedName(store: TableStore, asked: string): Promise<string> {
  const taken = new Set((await store.list()).map((table) => table.name));
  const bare = asked.replace(/ \(\d+\)$/, '');
  let name = asked;
  for (let number = 2; taken.has(name); number++) {
    const behind = ` (${number})`;
    name = `${bare.slice(0, longest - behind.length).trimEnd()}${behind}`;
  }
  return name;
}
