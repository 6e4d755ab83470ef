import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const read = (name: string): string => readFileSync(`${root}${name}`, 'utf8');
const scripts = (JSON.parse(read('package.json')) as { scripts: Record<string, string> }).scripts;
const guides = ['README.md', 'DEVELOPERS.md', 'tests/README.md', 'samples/README.md'];

/** Commands of `npm` that are a script of this project. */
function scriptsNamed(text: string): string[] {
  const run = [...text.matchAll(/npm run ([a-z]+)/g)].map((m) => m[1]);
  const short = [...text.matchAll(/npm (start|test)\b/g)].map((m) => m[1]);
  return [...new Set([...run, ...short])];
}

describe('the commands that guides name', () => {
  it.each(guides)('in %s are scripts of the project', (guide) => {
    expect(scriptsNamed(read(guide)).filter((name) => !(name in scripts))).toEqual([]);
  });

  it('include every script there is, in the guide for developers', () => {
    const named = scriptsNamed(read('DEVELOPERS.md'));
    expect(Object.keys(scripts).filter((name) => !named.includes(name) && name !== 'build')).toEqual([]);
  });

  it('of the command line are those that its help lists', () => {
    const help = spawnSync(process.execPath, ['server/gapwright.mjs', '--help'], {
      cwd: root,
      encoding: 'utf8',
    }).stdout;
    const inHelp = [...help.matchAll(/^ {2}gapwright ([a-z-]+)/gm)].map((m) => m[1]).sort();
    const inReadme = [...read('README.md').matchAll(/npx gapwright ([a-z-]+)/g)].map((m) => m[1]);
    expect(inHelp.length).toBeGreaterThan(8);
    expect([...new Set(inReadme)].filter((name) => name !== '--help').sort()).toEqual(inHelp);
  });

  it('of vitest name a kind of test that there is', () => {
    const kinds = [...read('tests/vitest.config.ts').matchAll(/kind\('([a-z]+)'/g)].map((m) => m[1]);
    const named = guides.flatMap((g) => [...read(g).matchAll(/--project ([a-z]+)/g)].map((m) => m[1]));
    expect(named.length).toBeGreaterThan(0);
    expect(named.filter((name) => !kinds.includes(name))).toEqual([]);
  });
});
