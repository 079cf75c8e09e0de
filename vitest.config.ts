import { defineConfig, mergeConfig } from 'vitest/config';
import viteConfig from './vite.config.js';

/** Driven by Playwright: see playwright.config.ts. */
const inBrowser = ['tests/browser/**', 'tests/journeys/**'];

export default mergeConfig(
  viteConfig,
  defineConfig({
    test: {
      // Generous, for busy machines: nothing waits for time to pass.
      testTimeout: 120_000,
      hookTimeout: 120_000,
      // A test that asserts nothing fails.
      expect: { requireAssertions: true },
      restoreMocks: true,
      unstubGlobals: true,
      projects: [
        {
          extends: true,
          test: {
            name: 'node',
            environment: 'node',
            include: ['tests/**/*.test.ts'],
            exclude: ['tests/ui/**', ...inBrowser],
          },
        },
        { extends: true, test: { name: 'dom', environment: 'happy-dom', include: ['tests/ui/**/*.test.ts'] } },
      ],
    },
  }),
);
