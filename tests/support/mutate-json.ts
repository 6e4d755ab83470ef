/** Values that nobody means, and that programs stumble over. */
const hostile: readonly unknown[] = [
  null,
  true,
  0,
  -1,
  0.1,
  -0,
  1e308,
  -1e308,
  5e-324,
  2 ** 53,
  '',
  'x'.repeat(3000),
  '__proto__',
  'constructor',
  '\u0000',
  '\ud800',
  '1',
  '../..',
  [],
  {},
  [[]],
  [null],
  { value: null, u: -1 },
  { ['__proto__']: { polluted: true } },
];

/** A copy of a JSON value in which one to three places hold something hostile, are gone, doubled or swapped. */
export function mutateJson(original: unknown, random: () => number): unknown {
  let copy = structuredClone(original);
  const times = 1 + Math.floor(random() * 3);
  for (let i = 0; i < times; i++) copy = mutateOnce(copy, random);
  return copy;
}

type Group = Record<string | number, unknown>;

function mutateOnce(root: unknown, random: () => number): unknown {
  const pick = <T>(list: readonly T[]): T => list[Math.floor(random() * list.length)] as T;
  let at = root;
  for (;;) {
    if (at === null || typeof at !== 'object') return random() < 0.02 ? pick(hostile) : root;
    const group = at as Group;
    const keys = Object.keys(group);
    if (keys.length === 0) return root;
    const key = pick(keys);
    const inner = group[key];
    if (inner !== null && typeof inner === 'object' && random() < 0.75) {
      at = inner;
      continue;
    }
    const kind = random();
    if (kind < 0.6) group[key] = structuredClone(pick(hostile));
    else if (kind < 0.75) delete group[key];
    else if (kind < 0.85 && Array.isArray(at)) at.push(...structuredClone(at.slice(0, 50)));
    else if (kind < 0.95) group[key] = structuredClone(group[pick(keys)]);
    else group[`${key}x`] = inner;
    return root;
  }
}

/** A copy in which one to three numbers are other numbers: what a slip of the hand or a wrong unit makes of them. */
export function bendNumbers(original: unknown, random: () => number): unknown {
  const copy = structuredClone(original);
  const places: { readonly group: Group; readonly key: string }[] = [];
  const visit = (at: unknown): void => {
    if (at === null || typeof at !== 'object') return;
    for (const [key, inner] of Object.entries(at)) {
      if (typeof inner === 'number') places.push({ group: at as Group, key });
      else visit(inner);
    }
  };
  visit(copy);
  for (let i = 0; i < 1 + Math.floor(random() * 3) && places.length > 0; i++) {
    const place = places[Math.floor(random() * places.length)];
    if (!place) continue;
    const value = place.group[place.key] as number;
    const bent = [-value, 0, value * 10, value / 25.4, value + 200 * (random() - 0.5), Math.round(value), value * 1e4];
    place.group[place.key] = bent[Math.floor(random() * bent.length)];
  }
  return copy;
}
