import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';

const root = fileURLToPath(new URL('../..', import.meta.url));
const lock = JSON.parse(readFileSync(`${root}package-lock.json`, 'utf8')) as {
  packages: Record<string, { license?: string; dev?: boolean; resolved?: string }>;
};
const guide = readFileSync(`${root}DEVELOPERS.md`, 'utf8');

/** Licences of packages that state none in the field for it: read in their LICENSE file. */
const readInFile: Readonly<Record<string, string>> = { 'png-js': 'MIT' };

/** Name and licence of every package that is installed for running. */
const installed = Object.entries(lock.packages)
  .filter(([path, { dev }]) => path !== '' && !dev)
  .map(([path, { license }]) => {
    const name = path.replace(/^.*node_modules\//, '');
    return { name, licence: license ?? readInFile[name] ?? 'none stated' };
  });

/** Rows of the guide's table: a licence, and names in which * stands for anything. */
const listed = [...guide.matchAll(/^\| ([^|]+) \| ([^|]+) \|$/gm)]
  .filter(([, licence]) => installed.some((p) => p.licence === licence))
  .map(([, licence, names]) => ({ licence, names: names.split(', ') }));

const matches = (pattern: string, name: string): boolean =>
  pattern.endsWith('*') ? name.startsWith(pattern.slice(0, -1)) : pattern === name;

describe('the licences of what is installed for running', () => {
  it('are all listed in the guide, each under its own', () => {
    const missing = installed.filter(
      ({ name, licence }) => !listed.some((row) => row.licence === licence && row.names.some((n) => matches(n, name))),
    );
    expect(missing).toEqual([]);
    expect(installed.length).toBeGreaterThan(80);
  });

  it('are not listed for packages that are gone', () => {
    const names = listed.flatMap((row) => row.names);
    expect(names.filter((n) => !installed.some(({ name }) => matches(n, name)))).toEqual([]);
  });

  it('let everybody use and pass on the program', () => {
    const free = /^(MIT|ISC|0BSD|BSD-3-Clause|Apache-2\.0|MPL-2\.0|LGPL-3\.0(-or-later)?|OFL-1\.1)$/;
    const other = installed.filter(({ licence }) => !licence.split(/ AND | OR /).every((part) => free.test(part)));
    expect(other).toEqual([]);
  });

  it('stand beside the reason for each dependency', () => {
    const wrong: string[] = [];
    for (const [, cell, why] of guide.matchAll(/^\| (`[^|]+`) \| ([^|]+) \|$/gm)) {
      for (const [, name] of cell.matchAll(/`([^`]+)`/g)) {
        const known = installed.find((p) => p.name === name);
        if (known && !known.licence.split(' AND ').some((part) => why.includes(part)))
          wrong.push(`${name}: ${known.licence}`);
      }
    }
    expect(wrong).toEqual([]);
  });

  it('come from a lock file that names no registry', () => {
    expect(Object.values(lock.packages).filter((p) => p.resolved !== undefined)).toEqual([]);
  });
});
