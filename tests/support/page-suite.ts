import type { Browser } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { putMeasuredTable } from './measured-table.js';
import { type RunningServer, startBrowser, startBuiltServer } from './page-under-test.js';
import { sceneTruth } from './scene-truth.js';

/** The photo that most tests of the page show, with its truth; null where this copy of the project has no samples. */
export const ovalTruth = sceneTruth('birch-oval');

/** One server and one browser for all tests of a file. */
export interface PageSuite {
  readonly server: RunningServer;
  readonly browser: Browser;
  /** A new table with the report that the sample's truth gives. @param markerSideMm when the test measures it again */
  measuredTable(markerSideMm?: number): Promise<string>;
}

/**
 * Starts server and browser before the tests of a describe block and stops them afterwards.
 * @param prepare what the tests share, such as a table
 */
export function pageSuite(prepare: (suite: PageSuite) => Promise<void> = async () => undefined): PageSuite {
  let server: RunningServer | undefined;
  let browser: Browser | undefined;
  const started = <T>(what: T | undefined): T => {
    if (!what) throw new Error('the suite has not started');
    return what;
  };
  const suite: PageSuite = {
    get server() {
      return started(server);
    },
    get browser() {
      return started(browser);
    },
    async measuredTable(markerSideMm) {
      if (!ovalTruth) throw new Error('this copy has no samples');
      return putMeasuredTable(suite.server.home, 'Larkspur Lane', ovalTruth, 'birch-oval', markerSideMm);
    },
  };
  beforeAll(async () => {
    server = await startBuiltServer();
    browser = await startBrowser();
    await prepare(suite);
  });
  afterAll(async () => {
    await browser?.close();
    await server?.stop();
  });
  return suite;
}
