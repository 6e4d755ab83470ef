import { buildWhenNeeded } from '../../server/build-when-needed.mjs';

/** Tests that start processes of the product run what is built: it must be built from the sources of now. */
export default async function buildFirst() {
  if (!(await buildWhenNeeded(['server']))) throw new Error('the server could not be built');
}
