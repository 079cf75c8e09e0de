/** The engine's rows of the table: each against its baseline in the same run. */
import { CHUNK_FRAMES } from '../../src/core/render/pool.js';
import type { Loaded } from './loaded-engine.js';
import { BLOCK, RATE, loadedEngine } from './loaded-engine.js';
import type { Row } from './measure.js';
import { interleaved, timingOf } from './measure.js';

const BLOCKS = 2000;
const ROUNDS = 9;
const BUDGET_MS = (BLOCKS * BLOCK * 1000) / RATE;

export function engineRows(): readonly Row[] {
  return [...kernelRows(), ...blockRows(), ...growthRows(), ...arrivalRows()];
}

/** What it costs to read the same samples in the same pattern, and nothing else. */
function readFloor(layers: number): () => void {
  const slabs = Array.from({ length: layers }, () => new Float32Array(CHUNK_FRAMES * 30));
  const sink = new Float32Array(1);
  let at = 0;
  return () => {
    for (let block = 0; block < BLOCKS; block++) {
      for (const slab of slabs) sink[0] = sumOf(slab, at);
      at = (at + BLOCK) % (CHUNK_FRAMES * 29);
    }
  };
}

/** Four running sums, so that the reading is the limit and not the adding. */
function sumOf(slab: Float32Array, at: number): number {
  let [a, b, c, d] = [0, 0, 0, 0];
  for (let i = at; i < at + BLOCK; i += 4) {
    a += slab[i] as number;
    b += slab[i + 1] as number;
    c += slab[i + 2] as number;
    d += slab[i + 3] as number;
  }
  return a + b + c + d;
}

const runOf = (loaded: Loaded) => (): void => {
  loaded.run(BLOCKS);
};

function kernelRows(): Row[] {
  const layers = 66;
  const [silent, full, floor] = interleaved(ROUNDS, [
    runOf(loadedEngine(1, 4, false)),
    runOf(loadedEngine(layers, 4, false)),
    readFloor(layers),
  ]);
  if (silent === undefined || full === undefined || floor === undefined) return [];
  const perLayer = ((full.median - silent.median) * 1e6) / (BLOCKS * (layers - 1));
  const floorPer = (floor.median * 1e6) / (BLOCKS * layers);
  const ratio = perLayer / floorPer;
  return [
    {
      what: 'mixing a layer, one block of 128',
      baseline: `reading the same samples, ${floorPer.toFixed(0)} ns`,
      seen: `${perLayer.toFixed(0)} ns, ${ratio.toFixed(1)} × (±${percent(full.spread)})`,
      target: '≤ 2 × (needs SIMD)',
      met: ratio <= 2,
    },
  ];
}

function blockRows(): Row[] {
  return [66, 1024].map((layers): Row => {
    const [timing] = interleaved(layers > 100 ? 5 : ROUNDS, [runOf(loadedEngine(layers))]);
    const share = (timing?.median ?? NaN) / BUDGET_MS;
    const target = layers > 100 ? 0.5 : 0.05;
    return {
      what: `whole block, ${String(layers)} layers, click, capture, limiter, meters`,
      baseline: 'its own time, 2.67 ms',
      seen: `${percent(share)} (±${percent(timing?.spread ?? NaN)})`,
      target: `≤ ${percent(target)}`,
      met: share <= target,
    };
  });
}

function growthRows(): Row[] {
  const counts = [8, 64, 256, 1024];
  const timings = interleaved(5, [...counts.map((n) => runOf(loadedEngine(n))), runOf(loadedEngine(1))]);
  const base = timings.at(-1)?.median ?? 0;
  const per = counts.map((n, i) => (((timings[i]?.median ?? NaN) - base) * 1e6) / (BLOCKS * Math.max(1, n - 1)));
  const growth = (per.at(-1) ?? NaN) / (per[1] ?? NaN);
  const [short, long] = interleaved(ROUNDS, [runOf(loadedEngine(30, 4)), runOf(loadedEngine(30, 24))]);
  const length = (long?.median ?? NaN) / (short?.median ?? NaN);
  return [
    {
      what: 'growth with layers, 8 → 64 → 256 → 1,024',
      baseline: 'ns a layer and block at 64',
      seen: `${per.map((ns) => ns.toFixed(0)).join(' → ')} ns; ${growth.toFixed(2)} ×`,
      target: 'linear: ≤ 1.5 ×',
      met: growth <= 1.5,
    },
    {
      what: 'growth with length, 30 layers of 4 → 24 bars',
      baseline: 'the block at 4 bars',
      seen: `${length.toFixed(2)} ×`,
      target: 'flat: ≤ 1.2 ×',
      met: length <= 1.2,
    },
  ];
}

/** A chunk of 64 kB comes in while 66 layers play. */
function arrivalRows(): Row[] {
  const loaded = loadedEngine(66);
  const samples = new Float32Array(CHUNK_FRAMES);
  const times: number[] = [];
  for (let i = 0; i < 400; i++) {
    const begun = performance.now();
    loaded.handle({ type: 'supply', audio: 1000 + (i % 66), channel: 0, chunk: 1 + (i % 20), samples });
    times.push(performance.now() - begun);
    loaded.run(1);
  }
  const { median } = timingOf(times);
  const worst = [...times].sort((a, b) => a - b)[Math.floor(times.length * 0.99)] ?? NaN;
  return [
    {
      what: 'a chunk of 64 kB arrives',
      baseline: '1 ms of the audio thread',
      seen: `${median.toFixed(3)} ms, 99 % under ${worst.toFixed(3)} ms`,
      target: '≤ 1 ms',
      met: worst <= 1,
    },
  ];
}

const percent = (part: number): string => `${(100 * part).toFixed(1)} %`;
