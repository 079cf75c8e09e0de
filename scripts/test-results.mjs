/** Reads what the test runners report as JSON into one form. */
import path from 'node:path';
import { stripVTControlCharacters } from 'node:util';

/**
 * What a runner found, or several together.
 *
 * @typedef {object} Tally
 * @property {number} passed
 * @property {readonly string[]} failed names
 * @property {readonly string[]} skipped names, with the reason where one was given
 */

/**
 * Of Vitest's JSON reporter, only what is read.
 *
 * @typedef {object} VitestReport
 * @property {readonly VitestFile[]} testResults
 *
 * @typedef {object} VitestFile
 * @property {string} name
 * @property {string} status
 * @property {readonly { readonly fullName: string, readonly status: string }[]} assertionResults
 */

/**
 * Of Playwright's JSON reporter, only what is read.
 *
 * @typedef {object} PlaywrightReport
 * @property {readonly PlaywrightSuite[]} suites
 * @property {readonly { readonly message?: string }[]} errors
 *
 * @typedef {object} PlaywrightSuite
 * @property {string} title
 * @property {readonly PlaywrightSuite[]} [suites]
 * @property {readonly { readonly title: string, readonly tests: readonly PlaywrightTest[] }[]} [specs]
 *
 * @typedef {object} PlaywrightTest
 * @property {string} projectName
 * @property {string} status expected, unexpected, flaky or skipped
 * @property {readonly { readonly type: string, readonly description?: string }[]} [annotations]
 */

/** @type {Tally} */
export const NOTHING = { passed: 0, failed: [], skipped: [] };

/**
 * @param {readonly Tally[]} tallies
 * @returns {Tally}
 */
export function sum(tallies) {
  return {
    passed: tallies.reduce((passed, tally) => passed + tally.passed, 0),
    failed: tallies.flatMap((tally) => tally.failed),
    skipped: tallies.flatMap((tally) => tally.skipped),
  };
}

/** @param {Tally} tally */
export function summaryLine({ passed, failed, skipped }) {
  return `${passed} passed, ${failed.length} failed, ${skipped.length} skipped`;
}

/**
 * A file that broke before its tests could run counts as one failure; a test that is still to be written as skipped.
 *
 * @param {VitestReport} report
 * @returns {Tally}
 */
export function fromVitest(report) {
  let passed = 0;
  /** @type {string[]} */
  const failed = [];
  /** @type {string[]} */
  const skipped = [];
  for (const file of report.testResults) {
    const before = failed.length;
    for (const test of file.assertionResults) {
      const name = `${path.basename(file.name)} › ${test.fullName}`;
      if (test.status === 'passed') passed++;
      else if (test.status === 'failed') failed.push(name);
      else skipped.push(name);
    }
    if (file.status === 'failed' && failed.length === before) failed.push(file.name);
  }
  return { passed, failed, skipped };
}

/**
 * A test that passed only when tried again has failed. Errors outside of tests count as one failure each.
 *
 * @param {PlaywrightReport} report
 * @returns {Tally}
 */
export function fromPlaywright(report) {
  let passed = 0;
  const failed = report.errors.map((error) => firstLine(error.message ?? 'an error without a message'));
  /** @type {string[]} */
  const skipped = [];
  for (const { name, test } of report.suites.flatMap((suite) => testsOf(suite, []))) {
    const reason = test.annotations?.find((annotation) => annotation.type === 'skip')?.description;
    if (test.status === 'expected') passed++;
    else if (test.status === 'skipped') skipped.push(reason === undefined ? name : `${name} (${reason})`);
    else failed.push(name);
  }
  return { passed, failed, skipped };
}

/**
 * The tally of a stage in the light of how its runner ended: a runner that failed without naming a failure, or that
 * found nothing to run, has failed.
 *
 * @param {string} stage
 * @param {number} code the runner's exit code
 * @param {Tally} tally
 * @returns {Tally}
 */
export function judge(stage, code, tally) {
  if (tally.failed.length > 0) return tally;
  if (tally.passed + tally.skipped.length === 0) return { ...tally, failed: [`${stage}: no test was found`] };
  return code === 0 ? tally : { ...tally, failed: [`${stage}: the runner ended with code ${code}`] };
}

/** @param {string} message */
function firstLine(message) {
  return stripVTControlCharacters(message).split('\n', 1).join();
}

/**
 * @param {PlaywrightSuite} suite
 * @param {readonly string[]} above titles
 * @returns {{ name: string, test: PlaywrightTest }[]}
 */
function testsOf(suite, above) {
  const titles = [...above, suite.title];
  const own = (suite.specs ?? []).flatMap((spec) =>
    spec.tests.map((test) => ({ name: [test.projectName, ...titles, spec.title].join(' › '), test })),
  );
  return [...own, ...(suite.suites ?? []).flatMap((inner) => testsOf(inner, titles))];
}
