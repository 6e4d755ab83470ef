import { buildWhenNeeded } from '../../server/build-when-needed.mjs';

/** Browser tests use the built page on the built server. */
export default async function buildPageFirst() {
  if (!(await buildWhenNeeded(['server', 'web']))) throw new Error('the page could not be built');
}
