/** Serves the build that the browser tests run against; without one from MANYHAND_DIST, builds it first. */
import { buildPage } from './build.mjs';
import { TEST_BUILD, TEST_PORT } from './paths.mjs';
import { serve } from './static-server.mjs';

if (process.env['MANYHAND_DIST'] === undefined) await buildPage(TEST_BUILD);
const { url } = await serve({ folder: TEST_BUILD, port: TEST_PORT });
console.log(`Serving ${TEST_BUILD} at ${url}`);
