import { defineConfig, mergeConfig } from 'vitest/config';
import viteConfig from './vite.config.js';

/** Driven by Playwright: see playwright.config.ts. */
const inBrowser = ['tests/browser/**', 'tests/journeys/**'];
/** Those of elements and of what they need of a page; the styles are read as files. */
const onMadeUpPage = ['tests/ui/*.test.ts', 'tests/ui/!(styles)/**/*.test.ts'];

export default mergeConfig(
  viteConfig,
  defineConfig({
    test: {
      // Generous, for busy machines: nothing waits for time to pass.
      testTimeout: 120_000,
      hookTimeout: 120_000,
      // Every core: the runner alone would leave one idle, half of a small machine.
      maxWorkers: '100%',
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
            exclude: [...onMadeUpPage, ...inBrowser],
          },
        },
        { extends: true, test: { name: 'dom', environment: 'happy-dom', include: onMadeUpPage } },
      ],
    },
  }),
);
