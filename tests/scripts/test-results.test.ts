import { expect, test } from 'vitest';
import { fromPlaywright, fromVitest, judge, NOTHING, sum, summaryLine } from '../../scripts/test-results.mjs';

const vitestFile = (status: string, ...tests: readonly [fullName: string, status: string][]) => ({
  name: '/project/tests/a.test.ts',
  status,
  assertionResults: tests.map(([fullName, result]) => ({ fullName, status: result })),
});

test('fromVitest counts by name', () => {
  const report = {
    testResults: [
      vitestFile('failed', ['one', 'passed'], ['two', 'failed'], ['three', 'skipped'], ['four', 'todo']),
      vitestFile('passed', ['five', 'passed']),
    ],
  };
  expect(fromVitest(report)).toEqual({
    passed: 2,
    failed: ['a.test.ts › two'],
    skipped: ['a.test.ts › three', 'a.test.ts › four'],
  });
});

test('fromVitest counts a file that broke before its tests as one failure', () => {
  expect(fromVitest({ testResults: [vitestFile('failed')] })).toEqual({
    passed: 0,
    failed: ['/project/tests/a.test.ts'],
    skipped: [],
  });
});

test('fromPlaywright counts nested suites, names skips with their reason, and takes a flaky test for a failed one', () => {
  const spec = (title: string, status: string, description?: string) => ({
    title,
    tests: [
      {
        projectName: 'page',
        status,
        annotations: description === undefined ? [] : [{ type: 'skip', description }],
      },
    ],
  });
  const report = {
    errors: [],
    suites: [
      {
        title: 'a.test.ts',
        specs: [spec('one', 'expected'), spec('two', 'skipped', 'needs sox')],
        suites: [{ title: 'group', specs: [spec('three', 'unexpected'), spec('four', 'flaky')] }],
      },
    ],
  };
  expect(fromPlaywright(report)).toEqual({
    passed: 1,
    failed: ['page › a.test.ts › group › three', 'page › a.test.ts › group › four'],
    skipped: ['page › a.test.ts › two (needs sox)'],
  });
});

test('fromPlaywright counts errors outside of tests, by the first line of what they say', () => {
  const report = { suites: [], errors: [{ message: '\u001b[31mno server\u001b[39m\nat line 1' }] };
  expect(fromPlaywright(report).failed).toEqual(['no server']);
});

const passing = { passed: 3, failed: [], skipped: [] };

test.each([
  ['passes what passed', 0, passing, []],
  ['fails a runner that failed without a name', 1, passing, ['vitest: the runner ended with code 1']],
  ['fails a runner that found nothing', 0, NOTHING, ['vitest: no test was found']],
  ['keeps the names of failures', 1, { ...passing, failed: ['one'] }, ['one']],
])('judge %s', (_, code, tally, failed) => {
  expect(judge('vitest', code, tally).failed).toEqual(failed);
});

test('the summary line counts over all runners', () => {
  const total = sum([passing, { passed: 1, failed: ['one'], skipped: ['two', 'three'] }]);
  expect(summaryLine(total)).toBe('4 passed, 1 failed, 2 skipped');
});
