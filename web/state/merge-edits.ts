import type { Edited } from './app-state.js';

const parts = ['name', 'settings', 'wishes', 'stock', 'corrections'] as const;

/**
 * Joins edits made here with those made on another device, part by part (name, settings, wishes, stock, corrections).
 * @param base what both started from
 * @returns the joined edits, and the parts that both changed differently: there `mine` stands in the result
 */
export function mergeEdits(base: Edited, mine: Edited, theirs: Edited): { merged: Edited; clashes: string[] } {
  const merged: Record<string, unknown> = {};
  const clashes: string[] = [];
  for (const part of parts) {
    const iChanged = !same(mine[part], base[part]);
    const theyChanged = !same(theirs[part], base[part]);
    if (iChanged && theyChanged && !same(mine[part], theirs[part])) clashes.push(part);
    merged[part] = iChanged || same(mine[part], theirs[part]) ? mine[part] : theirs[part];
  }
  return { merged: merged as unknown as Edited, clashes };
}

/** The parts of `mine` that differ from `base`: what has to be sent. */
export function changedParts(base: Edited, mine: Edited): Partial<Edited> {
  return Object.fromEntries(parts.filter((part) => !same(mine[part], base[part])).map((part) => [part, mine[part]]));
}

export function same(a: unknown, b: unknown): boolean {
  return a === b || JSON.stringify(a) === JSON.stringify(b);
}
