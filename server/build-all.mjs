// `npm run build`: builds the server and the page where a source has changed, and fails on any error in them.
import { buildStrictly } from './build-when-needed.mjs';

process.exit((await buildStrictly(['server', 'web'])) ? 0 : 1);
