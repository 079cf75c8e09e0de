/**
 * The bundled processor in the browser's offline context gives the same samples as the engine class in Node, to the bit.
 * Programs are compiled in Node and handed over, as a page hands them over.
 */
import { readdirSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { TEST_BUILD } from '../../scripts/paths.mjs';
import type { OfflineScript } from '../support/page/offline.js';
import { jobOf, renderHere, renderInPage } from '../support/page/offline.js';

const BAR = 120_000;

const BLOCK = 128;

/** A count-in of one bar, two bars recorded, and the loop, closed a little late. */
const SCRIPT: OfflineScript = {
  frames: 8 * BAR,
  roundTrip: 4928,
  presses: [10 * BLOCK, BLOCK * Math.ceil((10 * BLOCK + 3 * BAR + 3200) / BLOCK)],
};

function processorPath(): string {
  const name = readdirSync(`${TEST_BUILD}/assets`).find((file) => /^processor-.*\.js$/.test(file));
  if (name === undefined) throw new Error('Got a build without a processor when expected one.');
  return `/assets/${name}`;
}

test('the bundled processor equals the engine in Node to the bit', async ({ page }) => {
  await page.goto('/');
  const here = renderHere(SCRIPT);
  const bytes = Buffer.from(await page.evaluate(renderInPage, jobOf(SCRIPT, processorPath())), 'base64');
  const there = new Float32Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  expect(there.length).toBe(here.length);
  // The loop is sounding at the end: silence would be equal too.
  expect(Math.max(...here.slice(-BAR).map(Math.abs))).toBeGreaterThan(0.1);
  expect(there.findIndex((sample, i) => sample !== here[i])).toBe(-1);
});
