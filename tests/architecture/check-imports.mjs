// Checks the import rules over the whole tree; says what to do about each fault.
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { countSources, cruiseImports } from './cruise-imports.mjs';

const root = dirname(dirname(dirname(fileURLToPath(import.meta.url))));
const { violations, modules } = await cruiseImports(root);
for (const { rule, from, to, comment } of violations) console.error(`${rule}: ${from} → ${to}\n    ${comment}`);
const sources = countSources(root);
// A compiler that cannot be used makes dependency-cruiser see no modules at all, and report success.
if (modules < sources) console.error(`Only ${modules} of ${sources} files were read: the check itself does not work.`);
console.log(`${modules} files, ${violations.length} import faults`);
process.exit(violations.length === 0 && modules >= sources ? 0 : 1);
