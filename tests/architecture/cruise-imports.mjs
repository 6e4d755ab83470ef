import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { cruise } from 'dependency-cruiser';
import { cruiseOptions } from './import-rules.mjs';

/**
 * Looks at the imports below a folder that holds server/ and web/.
 * @param {string} folder
 * @returns {Promise<{ violations: { rule: string, from: string, to: string, comment: string }[], modules: number }>}
 *   modules counts the TypeScript files of server/ and web/ that were read
 */
export async function cruiseImports(folder) {
  const result = await cruise(['server', 'web'], { ...cruiseOptions, baseDir: folder });
  const { summary, modules } = result.output;
  return {
    violations: summary.violations.map((v) => ({
      rule: v.rule.name,
      from: v.from,
      to: v.to,
      comment: cruiseOptions.ruleSet.forbidden.find((r) => r.name === v.rule.name)?.comment ?? '',
    })),
    modules: modules.filter((m) => /^(server|web)\/.*\.ts$/.test(m.source)).length,
  };
}

/** Counts the TypeScript files of server/ and web/ on disk: as many must have been read. */
export function countSources(folder) {
  return ['server', 'web']
    .flatMap((part) => readdirSync(join(folder, part), { recursive: true }).map(String))
    .filter((name) => name.endsWith('.ts')).length;
}
