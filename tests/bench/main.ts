/** `npm run bench`: measures, prints one table, and fails nothing. */
import { browserRows } from './browser-rows.js';
import { engineRows } from './engine-rows.js';
import type { Row } from './measure.js';

/* eslint-disable no-console -- a table is what this is for */
function print(rows: readonly Row[]): void {
  console.log('| what | baseline in the same run | seen | target | met |\n|---|---|---|---|---|');
  for (const { what, baseline, seen, target, met } of rows) {
    console.log(`| ${what} | ${baseline} | ${seen} | ${target} | ${met === null ? '–' : met ? 'yes' : 'no'} |`);
  }
}

/** @param build of the page; null where there is no browser to run it in */
export async function bench(build: string | null, port: number): Promise<void> {
  const inBrowser = build === null ? [] : await browserRows(build, port);
  print([...inBrowser, ...engineRows()]);
}
