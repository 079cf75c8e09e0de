/**
 * `npm test`: builds the page once, runs the tests in Node and in a made-up page (Vitest), then those in a real
 * browser against that build (Playwright). The last line counts them all.
 */
import { requireNode } from './node-version.mjs';

requireNode();
const { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } = await import('node:fs');
const { createServer } = await import('node:net');
const { buildPage } = await import('./build.mjs');
const { findBrowser, NoBrowserError } = await import('./find-browser.mjs');
const { ROOT } = await import('./paths.mjs');
const { inSeconds, runNode, toolOf } = await import('./run.mjs');
const { fromPlaywright, fromVitest, judge, NOTHING, sum, summaryLine } = await import('./test-results.mjs');

/** @typedef {import('./test-results.mjs').Tally} Tally */

mkdirSync(`${ROOT}/.cache`, { recursive: true });
/** Of this run alone, so that two at a time do not meet. */
const folder = mkdtempSync(`${ROOT}/.cache/test-`);
process.on('exit', () => {
  rmSync(folder, { recursive: true, force: true });
});
for (const [signal, code] of Object.entries({ SIGINT: 130, SIGTERM: 143 }))
  process.on(signal, () => process.exit(code));
const dist = `${folder}/dist`;

/** @returns {Promise<Tally>} */
async function buildStage() {
  try {
    await buildPage(dist);
    return NOTHING;
  } catch (error) {
    console.error(error);
    return { ...NOTHING, failed: ['build: the page did not build'] };
  }
}

/** @returns {Promise<Tally>} */
async function vitestStage() {
  const report = `${folder}/vitest.json`;
  const { code } = await runNode(
    [toolOf('vitest', 'vitest'), 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${report}`],
    existsSync(dist) ? { MANYHAND_DIST: dist } : {},
  );
  const found = /** @type {import('./test-results.mjs').VitestReport | null} */ (read(report));
  return judge('vitest', code, found ? fromVitest(found) : NOTHING);
}

/** @returns {Promise<Tally>} */
async function browserStage() {
  if (!existsSync(`${dist}/index.html`)) return { ...NOTHING, failed: ['browser: there is no build to test'] };
  let browser;
  try {
    browser = findBrowser();
  } catch (error) {
    if (!(error instanceof NoBrowserError)) throw error;
    console.error(error.message);
    const named = [`browser: all of it (${error.message})`];
    return process.env['MANYHAND_REQUIRE'] === '1' ? { ...NOTHING, failed: named } : { ...NOTHING, skipped: named };
  }
  console.log(`Browser ${browser.version}: ${browser.path}`);
  const report = `${folder}/playwright.json`;
  const { code } = await runNode([toolOf('@playwright/test', 'playwright'), 'test', '--reporter=list,json'], {
    CHROME_PATH: browser.path,
    MANYHAND_DIST: dist,
    MANYHAND_TEST_PORT: String(await freePort()),
    PLAYWRIGHT_JSON_OUTPUT_FILE: report,
  });
  const found = /** @type {import('./test-results.mjs').PlaywrightReport | null} */ (read(report));
  return judge('browser', code, found ? fromPlaywright(found) : NOTHING);
}

/**
 * @param {string} file
 * @returns {unknown} null where the runner ended before it wrote its report
 */
function read(file) {
  return existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : null;
}

/** @returns {Promise<number>} a port that was free a moment ago */
function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.on('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => {
        if (address === null || typeof address === 'string') reject(new TypeError('Got no port from the system.'));
        else resolve(address.port);
      });
    });
  });
}

/** @type {Tally[]} */
const tallies = [];
/** @type {string[]} */
const times = [];
for (const [stage, run] of Object.entries({ build: buildStage, vitest: vitestStage, browser: browserStage })) {
  console.log(`\n== ${stage}`);
  const begun = performance.now();
  const tally = await run();
  tallies.push(tally);
  times.push(`${stage} ${inSeconds(performance.now() - begun)}`);
}

const total = sum(tallies);
console.log(`\nTime: ${times.join(', ')}`);
for (const name of total.skipped) console.log(`Skipped: ${name}`);
for (const name of total.failed) console.log(`Failed: ${name}`);
process.exitCode = total.failed.length > 0 || total.passed === 0 ? 1 : 0;
console.log(summaryLine(total));
