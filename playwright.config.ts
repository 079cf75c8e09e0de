/**
 * Tests in a real browser, against the production build. `npm test` gives build, port and browser; alone,
 * `npx playwright test` builds and finds them itself.
 */
import { defineConfig } from '@playwright/test';
import { launchOptions } from './scripts/launch-options.mjs';
import { MICROPHONE_FILE, TEST_PORT } from './scripts/paths.mjs';

// The one name that the library of recordings belongs to; others of this machine are sent on to it.
const url = `http://localhost:${TEST_PORT}`;

const captureTests = '**/*.capture.test.ts';
/** Over a sound server that they start themselves. */
const loopTests = '**/*.loop.test.ts';

export default defineConfig({
  testDir: 'tests',
  testMatch: '**/tests/{browser,journeys}/**/*.test.ts',
  outputDir: 'test-results',
  globalSetup: './tests/support/page/set-up.ts',
  forbidOnly: Boolean(process.env['CI']),
  // Sound in real time: one page at a time, and no second chance.
  workers: 1,
  retries: 0,
  timeout: 120_000,
  // A pass of four bars takes ten seconds of its own.
  expect: { timeout: 20_000 },
  globalTimeout: 600_000,
  use: { baseURL: url, headless: true },
  projects: [
    { name: 'page', testIgnore: [captureTests, loopTests], use: { launchOptions: launchOptions() } },
    {
      name: 'capture',
      testMatch: captureTests,
      use: {
        launchOptions: launchOptions([
          '--use-fake-device-for-media-stream',
          '--use-fake-ui-for-media-stream',
          `--use-file-for-fake-audio-capture=${MICROPHONE_FILE}`,
        ]),
      },
    },
    {
      name: 'loop',
      testMatch: loopTests,
      use: { launchOptions: launchOptions(['--use-fake-ui-for-media-stream']) },
    },
  ],
  webServer: { command: 'node scripts/serve.mjs', url, reuseExistingServer: false, timeout: 60_000 },
});
