/** The engine in the browser's offline context against the browser's own graph doing the same. */
import { readdirSync } from 'node:fs';
import { chromium } from '@playwright/test';
import { launchOptions } from '../../scripts/launch-options.mjs';
import { serve } from '../../scripts/static-server.mjs';
import { SLAB_FRAMES } from '../../src/core/render/pool.js';
import { programOf } from '../support/programs.js';
import type { Row } from './measure.js';
import { timingOf } from './measure.js';

const BAR = 120_000;
const SECONDS = 20;
const ROUNDS = 5;

interface Job {
  readonly url: string;
  readonly layers: number;
  readonly seconds: number;
  readonly bodyFrames: number;
  readonly slabFrames: number;
  readonly slabs: number;
  readonly program: Readonly<Record<'voices' | 'strips' | 'stretches' | 'curves', number[]>>;
}

export async function browserRows(build: string, port: number): Promise<readonly Row[]> {
  const server = await serve({ folder: build, port });
  const browser = await chromium.launch(launchOptions());
  try {
    const page = await browser.newPage();
    await page.goto(server.url);
    const rows: Row[] = [];
    const one = jobOf(build, 1);
    for (const layers of [66, 256]) {
      const job = jobOf(build, layers);
      const native: number[] = [];
      const ours: number[] = [];
      // What a render costs without layers (the context, and our limiter, ring and click) is taken off both.
      for (let round = 0; round <= ROUNDS; round++) {
        const a = (await page.evaluate(renderNative, job)) - (await page.evaluate(renderNative, one));
        const b = (await page.evaluate(renderOurs, job)) - (await page.evaluate(renderOurs, one));
        if (round > 0) {
          native.push(a);
          ours.push(b);
        }
      }
      const [base, seen] = [timingOf(native), timingOf(ours)];
      const ratio = base.median / seen.median;
      rows.push({
        what: `${String(layers)} looping layers, offline in the browser, ${String(SECONDS)} s`,
        baseline: `its own graph, ${base.median.toFixed(0)} ms (±${(100 * base.spread).toFixed(0)} %)`,
        seen: `${ratio.toFixed(1)} × cheaper (±${(100 * seen.spread).toFixed(0)} %), seam overlap included`,
        target: '≥ 3.5 ×',
        met: ratio >= 3.5,
      });
    }
    return rows;
  } finally {
    await browser.close();
    await server.close();
  }
}

function jobOf(build: string, layers: number): Job {
  const name = readdirSync(`${build}/assets`).find((file) => /^processor-.*\.js$/.test(file));
  if (name === undefined) throw new Error('Got a build without a processor when expected one.');
  const { voices, strips, stretches, curves } = programOf({
    sectionBars: 1,
    layers: Array.from({ length: layers }, (_, i) => ({
      voice: 1000 + i,
      audio: 1000 + i,
      bodyStart: 4800,
      bodyFrames: BAR,
      bars: 1,
    })),
  });
  return {
    url: `/assets/${name}`,
    layers,
    seconds: SECONDS,
    bodyFrames: BAR,
    slabFrames: SLAB_FRAMES,
    slabs: Math.ceil((layers * 9) / 128) + 1,
    program: { voices: [...voices], strips: [...strips], stretches: [...stretches], curves: [...curves] },
  };
}

/** AudioBufferSourceNode → GainNode → StereoPannerNode for each layer. @returns ms */
async function renderNative(job: Job): Promise<number> {
  const context = new OfflineAudioContext(2, job.seconds * 48_000, 48_000);
  const buffer = context.createBuffer(1, job.bodyFrames, 48_000);
  const data = buffer.getChannelData(0);
  for (let i = 0; i < data.length; i++) data[i] = Math.sin(i / 20) / (4 * job.layers);
  for (let i = 0; i < job.layers; i++) {
    const source = new AudioBufferSourceNode(context, { buffer, loop: true });
    const level = new GainNode(context, { gain: 0.9 });
    const pan = new StereoPannerNode(context, { pan: (i / job.layers) * 2 - 1 });
    source.connect(level).connect(pan).connect(context.destination);
    source.start();
  }
  const begun = performance.now();
  await context.startRendering();
  return performance.now() - begun;
}

/** The bundled processor with as many voices, their audio supplied before the clock is started. @returns ms */
async function renderOurs(job: Job): Promise<number> {
  const context = new OfflineAudioContext(2, job.seconds * 48_000, 48_000);
  await context.audioWorklet.addModule(job.url);
  const node = new AudioWorkletNode(context, 'manyhand-engine', {
    outputChannelCount: [2],
    processorOptions: { sampleRate: 48_000, inputChannels: 1, ringSeconds: 1 },
  });
  node.connect(context.destination);
  const send = (command: unknown): void => {
    node.port.postMessage({ type: 'command', command });
  };
  let playing: () => void = () => undefined;
  const chunk = new Float32Array(16_384).fill(1 / (8 * job.layers));
  node.port.onmessage = ({ data }: MessageEvent<{ type: string; report: { type: string } }>) => {
    const { report } = data;
    if (data.type !== 'report') return;
    if (report.type === 'audio-wanted') send({ ...report, type: 'supply', samples: chunk });
    if (report.type === 'slab-wanted') send({ type: 'supply-slab', slab: new Float32Array(job.slabFrames) });
    if (report.type === 'program-ready') send({ type: 'play', heard: 0 });
    if (report.type === 'plan-changed') playing();
  };
  let begun = 0;
  void context.suspend(128 / 48_000).then(async () => {
    const ready = new Promise<void>((resolve) => {
      playing = resolve;
    });
    for (let i = 0; i < job.slabs; i++) send({ type: 'supply-slab', slab: new Float32Array(job.slabFrames) });
    send({
      type: 'set-rules',
      rules: { bars: null, countIn: 1, channels: [0], withoutTempo: false, keepLayering: false, replaces: null },
    });
    const { voices, strips, stretches, curves } = job.program;
    send({
      type: 'use-program',
      program: {
        revision: 1,
        sampleRate: 48_000,
        passesKnown: 0,
        leadFrames: 480,
        pageFrames: Infinity,
        voices: new Float64Array(voices),
        strips: new Float64Array(strips),
        stretches: new Float64Array(stretches),
        curves: new Float32Array(curves),
      },
    });
    await ready;
    begun = performance.now();
    await context.resume();
  });
  await context.startRendering();
  return performance.now() - begun;
}
