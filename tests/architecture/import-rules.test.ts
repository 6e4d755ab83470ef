import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { cruiseImports } from './cruise-imports.mjs';
import { importRules, layers } from './import-rules.mjs';

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** Writes a small tree of files into a folder of its own and names the rules that it breaks. */
async function rulesBroken(files: Record<string, string>): Promise<string[]> {
  const folder = mkdtempSync(join(tmpdir(), 'gapwright-imports-'));
  folders.push(folder);
  for (const [path, text] of Object.entries({ 'package.json': '{"name":"x"}', 'web/main.ts': '', ...files })) {
    mkdirSync(dirname(join(folder, path)), { recursive: true });
    writeFileSync(join(folder, path), text);
  }
  const { violations } = await cruiseImports(folder);
  return violations.map((v) => v.rule);
}

const one = 'export const one = 1;\n';
const typeOnly = 'export type One = 1;\n';

/** For each rule a tree that breaks it; the layers' rules are made from the list of layers below. */
const faults: Record<string, Record<string, string>> = {
  'stages-meet-in-scene': {
    'server/stages/rails/a.ts': "import type { One } from '../camera/b.js';\nexport const a: One = 1;\n",
    'server/stages/camera/b.ts': typeOnly,
  },
  'stages-touch-no-files': {
    'server/stages/rails/a.ts': "import { readFileSync } from 'node:fs';\nexport const a = readFileSync;\n",
  },
  'planner-sees-no-pictures': {
    'server/planner/a.ts': "import type { One } from '../scene/b.js';\nexport const a: One = 1;\n",
    'server/scene/b.ts': typeOnly,
  },
  'exports-see-no-pictures': {
    'server/exports/a.ts': "import { one } from '../images/b.js';\nexport const a = one;\n",
    'server/images/b.ts': one,
  },
  'opencv-behind-its-folder': {
    'server/stages/rails/a.ts': "import cv from 'opencv-wasm';\nexport const a = cv;\n",
  },
  'no-vision-on-the-server-thread': {
    'server/http/a.ts': "import { b } from '../stages/rails/b.js';\nexport const a = b;\n",
    'server/stages/rails/b.ts': "import { one } from '../../opencv/c.js';\nexport const b = one;\n",
    'server/opencv/c.ts': one,
  },
  'page-uses-contract-units-geometry': {
    'web/a.ts': "import { one } from '../server/planner/b.js';\nexport const a = one;\n",
    'server/planner/b.ts': one,
  },
  'server-imports-no-page': {
    'server/http/a.ts': "import { one } from '../../web/b.js';\nexport const a = one;\n",
    'web/b.ts': one,
  },
  'product-imports-no-tests': {
    'server/base/a.ts': "import { one } from '../../tests/b.js';\nexport const a = one;\n",
    'tests/b.ts': one,
  },
  'packages-are-declared': {
    'server/base/a.ts': "import { one } from 'undeclared';\nexport const a = one;\n",
    'node_modules/undeclared/package.json': '{"name":"undeclared","version":"1.0.0","main":"index.js"}',
    'node_modules/undeclared/index.js': 'exports.one = 1;\n',
  },
  'imports-are-there': { 'server/base/a.ts': "import { one } from './gone.js';\nexport const a = one;\n" },
  'no-circle': {
    'server/base/a.ts': "import { b } from './b.js';\nexport const a = () => b;\n",
    'server/base/b.ts': "import { a } from './a.js';\nexport const b = () => a;\n",
  },
  'every-file-is-used': { 'server/base/alone.ts': one },
};
for (const [i, name] of layers.slice(0, -1).entries()) {
  const above = layers[i + 1] as string;
  faults[`${name}-imports-downwards`] = {
    [`server/${name}/a.ts`]: `import type { One } from '../${above}/b.js';\nexport const a: One = 1;\n`,
    [`server/${above}/b.ts`]: typeOnly,
  };
}

describe('the import rules', () => {
  it('have a fault in this test for each of them', () => {
    expect(Object.keys(faults).sort()).toEqual(importRules.map((r) => r.name).sort());
  });

  it.each(Object.keys(faults))('catch a breach of %s', async (rule) => {
    expect(await rulesBroken(faults[rule] as Record<string, string>)).toContain(rule);
  });

  it('accept a tree that keeps them', async () => {
    const broken = await rulesBroken({
      'web/main.ts': "import { one } from '../server/units/a.js';\nconsole.log(one);\n",
      'server/units/a.ts': "import { b } from '../base/b.js';\nexport const one = b;\n",
      'server/base/b.ts': 'export const b = 1;\n',
      'server/main.ts': "import { one } from './units/a.js';\nconsole.log(one);\n",
    });
    expect(broken).toEqual([]);
  });

  it('say what to do', () => {
    for (const rule of importRules) expect(rule.comment?.length ?? 0, rule.name).toBeGreaterThan(40);
  });
});
