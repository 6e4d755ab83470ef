import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { layers } from './import-rules.mjs';

const root = fileURLToPath(new URL('../..', import.meta.url));
const read = (name: string): string => readFileSync(join(root, name), 'utf8');

/** In backticks and shaped like a path, yet no file of the project: packages, formats, and what programs make. */
const noFileHere = [
  /^@/,
  /^~/,
  /^\//,
  /^gapwright-[a-z]+\/\d+$/,
  /^(\.build|node_modules|\.test-output|\.cache)(\/|$)/,
];

/** Every path of the project that a guide names: in backticks, or as the target of a link or picture. */
function pathsNamed(markdown: string): string[] {
  const spans = [...markdown.matchAll(/`([^`\n]+)`/g)].map((m) => m[1]);
  const inBackticks = spans.filter(
    (s) =>
      /^[\w@~.][\w@.-]*(\/[\w@.-]+)+\/?$|^[\w-]+\/$|^[\w-]+\.(md|ts|mjs)$/.test(s) &&
      !noFileHere.some((n) => n.test(s)),
  );
  const links = [...markdown.matchAll(/\]\(([^)#\s]+)[^)]*\)/g)].map((m) => m[1]);
  return [...new Set([...inBackticks, ...links.filter((l) => !/^[a-z]+:/.test(l))])];
}

describe.each([
  { guide: 'README.md', atLeast: 4 },
  { guide: 'DEVELOPERS.md', atLeast: 60 },
  { guide: 'samples/README.md', atLeast: 0 },
  { guide: 'tests/README.md', atLeast: 15 },
])('$guide', ({ guide, atLeast }) => {
  const paths = pathsNamed(read(guide));

  it('names only paths that exist', () => {
    const missing = paths.filter((p) => !existsSync(join(root, p)) && !existsSync(join(root, dirname(guide), p)));
    expect(missing).toEqual([]);
  });

  it('names as many paths as a guide of its kind must', () => {
    expect(paths.length).toBeGreaterThanOrEqual(atLeast);
  });
});

describe('the reader of paths', () => {
  it('sees files, folders and links, and leaves packages, formats and addresses alone', () => {
    const text =
      '`server/a.ts` `tests/unit` `web/` `x.mjs` [a](LICENSE) ![b](samples/b.jpg) [c](https://x.org/y) [d](#e) ' +
      '`@hono/node-server` `gapwright-plan/1` `/api/tables` `~/.gapwright/tables` `npm run check` `a / b`';
    expect(pathsNamed(text)).toEqual(['server/a.ts', 'tests/unit', 'web/', 'x.mjs', 'LICENSE', 'samples/b.jpg']);
  });
});

describe('DEVELOPERS.md', () => {
  const guide = read('DEVELOPERS.md');
  const rows = [...guide.matchAll(/^\| (.+?) \|/gm)].map((m) => m[1]);

  it('lists the layers in the order of the import rules', () => {
    expect(rows.filter((r) => layers.includes(r))).toEqual(layers);
  });

  it('gives a reason for each dependency', () => {
    const { dependencies } = JSON.parse(read('package.json')) as { dependencies: Record<string, string> };
    const named = rows.flatMap((r) => [...r.matchAll(/`([^`]+)`/g)].map((m) => m[1]));
    expect(Object.keys(dependencies).filter((d) => !named.includes(d))).toEqual([]);
  });
});
