/** The engine in the browser's offline context against the browser's own graph doing the same. */
import { readdirSync } from 'node:fs';
import type { Page } from '@playwright/test';
import { chromium } from '@playwright/test';
import { launchOptions } from '../../scripts/launch-options.mjs';
import { serve } from '../../scripts/static-server.mjs';
import { CHUNK_FRAMES, SLAB_CHUNKS, SLAB_FRAMES } from '../../src/core/render/pool.js';
import type { Job } from './in-page.js';
import { renderNative, renderOurs } from './in-page.js';
import { layersOf } from './loaded-engine.js';
import type { Row } from './measure.js';
import { percent, timingOf } from './measure.js';

const BAR = 120_000;
const SECONDS = 20;
const ROUNDS = 5;
const TARGET = 3.5;
/** The engine copies two chunks between blocks, and has at most 128 under way. */
const STOP_BLOCKS = 64;
const IN_FLIGHT = 128;
/** Many times what a render takes on a busy machine. */
const PATIENCE_MS = 60_000;

/** @param build of the page. A row that could not be measured says why. */
export async function browserRows(build: string, port: number): Promise<readonly Row[]> {
  const server = await serve({ folder: build, port });
  const browser = await chromium.launch(launchOptions());
  try {
    const rows: Row[] = [];
    for (const layers of [66, 256]) {
      const page = await browser.newPage();
      await page.goto(server.url);
      rows.push(await rowOf(page, jobOf(build, layers), jobOf(build, 1)));
      await page.close();
    }
    return rows;
  } finally {
    await browser.close();
    await server.close();
  }
}

async function rowOf(page: Page, job: Job, one: Job): Promise<Row> {
  const what = `${job.layers} looping layers, gain and pan, offline in the browser, ${job.seconds} s`;
  const target = `≥ ${TARGET} ×`;
  try {
    const native: number[] = [];
    const ours: number[] = [];
    // What a render costs without layers (the context, and our limiter, ring and click) is taken off both.
    for (let round = 0; round <= ROUNDS; round++) {
      const base = (await timed(page, renderNative, job)) - (await timed(page, renderNative, one));
      const seen = (await timed(page, renderOurs, job)) - (await timed(page, renderOurs, one));
      if (round === 0) continue;
      native.push(base);
      ours.push(seen);
    }
    const [base, seen] = [timingOf(native), timingOf(ours)];
    const ratio = base.median / seen.median;
    return {
      what,
      baseline: `its own graph, ${base.median.toFixed(0)} ms (±${percent(base.spread)})`,
      seen: `${seen.median.toFixed(0)} ms (±${percent(seen.spread)}), ${ratio.toFixed(1)} × cheaper, seam overlap included`,
      target,
      met: ratio >= TARGET,
    };
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error);
    return { what, baseline: 'its own graph', seen: `not measured: ${why.split('\n')[0] ?? why}`, target, met: null };
  }
}

/** @throws where the page fails, or does not answer. */
async function timed(page: Page, render: (job: Job) => Promise<number>, job: Job): Promise<number> {
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_, reject) => {
    timer = setTimeout(() => {
      reject(new Error(`${render.name} of ${job.layers} layers gave no answer in ${PATIENCE_MS / 1000} s.`));
    }, PATIENCE_MS);
  });
  try {
    return await Promise.race([page.evaluate(render, job), late]);
  } finally {
    clearTimeout(timer);
  }
}

function jobOf(build: string, layers: number): Job {
  const name = readdirSync(`${build}/assets`).find((file) => /^processor-.*\.js$/.test(file));
  if (name === undefined) throw new Error('Got a build without a processor when expected one.');
  const { voices, strips, stretches, curves } = layersOf(layers, 1);
  const chunks = layers * Math.ceil((4800 + BAR) / CHUNK_FRAMES);
  return {
    url: `/assets/${name}`,
    layers,
    seconds: SECONDS,
    bodyFrames: BAR,
    slabFrames: SLAB_FRAMES,
    slabs: Math.ceil(chunks / SLAB_CHUNKS) + 1,
    chunkFrames: CHUNK_FRAMES,
    // One to set it up, one for what the first look has asked for, one to spare.
    stops: Math.ceil(chunks / IN_FLIGHT) + 3,
    stopBlocks: STOP_BLOCKS,
    program: { voices: [...voices], strips: [...strips], stretches: [...stretches], curves: [...curves] },
  };
}
