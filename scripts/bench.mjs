/**
 * `npm run bench`: bundles the benchmarks as the page is bundled, so that what is measured is what runs, and runs them
 * in this process. Every figure is a ratio to a baseline in the same run; nothing fails.
 */
import { requireNode } from './node-version.mjs';

requireNode();
const { build } = await import('vite');
const { buildPage } = await import('./build.mjs');
const { findBrowser, NoBrowserError } = await import('./find-browser.mjs');
const { ROOT, TEST_PORT } = await import('./paths.mjs');

const folder = `${ROOT}/.cache/bench`;
const page = `${folder}/page`;
await buildPage(page);
await build({
  configFile: false,
  root: ROOT,
  logLevel: 'warn',
  build: {
    ssr: 'tests/bench/main.ts',
    outDir: `${folder}/node`,
    emptyOutDir: true,
    minify: false,
    target: 'es2023',
    rolldownOptions: { output: { entryFileNames: 'main.mjs' } },
  },
});

let hasBrowser = true;
try {
  findBrowser();
} catch (error) {
  if (!(error instanceof NoBrowserError)) throw error;
  console.log(`Without the rows of the browser: ${error.message}`);
  hasBrowser = false;
}
/** @typedef {{ bench: (build: string | null, port: number) => Promise<void> }} Benchmarks */
/** @type {unknown} */
const made = await import(`${folder}/node/main.mjs`);
const bundled = /** @type {Benchmarks} */ (made);
await bundled.bench(hasBrowser ? page : null, TEST_PORT);
