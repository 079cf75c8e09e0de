/** The engine's rows of the table: each against its baseline in the same run. */
import { CHUNK_FRAMES } from '../../src/core/render/pool.js';
import type { Loaded } from './loaded-engine.js';
import { BLOCK, RATE, formOf, layersOf, playing } from './loaded-engine.js';
import type { Row, Timing } from './measure.js';
import { interleaved, percent, timingOf } from './measure.js';

const BLOCKS = 2000;
const ROUNDS = 9;
/** Of 2.5 s. */
const BARS_A_MINUTE = 24;
const ARRIVAL_BLOCKS = 200;
const BUDGET_MS = (BLOCKS * BLOCK * 1000) / RATE;

export function engineRows(): readonly Row[] {
  return [...kernelRows(), ...blockRows(), ...growthRows(), ...arrivalRows()];
}

/** What it costs to read the same samples in the same pattern, four layers in a pass, and nothing else. */
function readFloor(layers: number): () => void {
  // Filled: memory that was never written to is all one page of zeros.
  const slabs = Array.from({ length: Math.ceil(layers / 4) * 4 }, () => new Float32Array(CHUNK_FRAMES * 30).fill(0.1));
  const sink = new Float64Array(1);
  let at = 0;
  return () => {
    for (let block = 0; block < BLOCKS; block++) {
      for (let i = 0; i < slabs.length; i += 4) sink[0] = sumOfFour(slabs, i, at);
      at = (at + BLOCK) % (CHUNK_FRAMES * 29);
    }
  };
}

/** A running sum of each, so that the reading is the limit and not the adding. */
function sumOfFour(slabs: readonly Float32Array[], first: number, at: number): number {
  const slabA = slabs[first] as Float32Array;
  const slabB = slabs[first + 1] as Float32Array;
  const slabC = slabs[first + 2] as Float32Array;
  const slabD = slabs[first + 3] as Float32Array;
  let a = 0;
  let b = 0;
  let c = 0;
  let d = 0;
  for (let i = at; i < at + BLOCK; i++) {
    a += slabA[i] as number;
    b += slabB[i] as number;
    c += slabC[i] as number;
    d += slabD[i] as number;
  }
  return a + b + c + d;
}

const NONE: Timing = { median: NaN, spread: NaN };

/** Milliseconds of BLOCKS blocks, each program in turn. */
function timed(rounds: number, engines: readonly Loaded[]): (index: number) => Timing {
  const timings = interleaved(
    rounds,
    engines.map((engine) => () => {
      engine.run(BLOCKS);
    }),
  );
  return (index) => timings[index] ?? NONE;
}

function kernelRows(): Row[] {
  const layers = 66;
  const silent = playing(layersOf(1, 4), 1, false);
  const full = playing(layersOf(layers, 4), layers, false);
  const jobs = [silent, full].map((engine) => () => {
    engine.run(BLOCKS);
  });
  const [less = NONE, more = NONE, floor = NONE] = interleaved(ROUNDS, [...jobs, readFloor(layers)]);
  const perLayer = ((more.median - less.median) * 1e6) / (BLOCKS * (layers - 1));
  const floorPer = (floor.median * 1e6) / (BLOCKS * layers);
  const ratio = perLayer / floorPer;
  return [
    {
      what: 'mixing one of 66 layers, a block of 128, panned',
      baseline: `reading the same samples, ${floorPer.toFixed(0)} ns (±${percent(floor.spread)})`,
      seen: `${perLayer.toFixed(0)} ns (±${percent(more.spread)}), ${ratio.toFixed(1)} ×`,
      target: '≤ 2 ×',
      met: ratio <= 2,
    },
  ];
}

function blockRows(): Row[] {
  return [66, 1024].map((layers): Row => {
    const { median, spread } = timed(layers > 100 ? 5 : ROUNDS, [playing(layersOf(layers, 4))])(0);
    const share = median / BUDGET_MS;
    const target = layers > 100 ? 0.5 : 0.05;
    return {
      what: `whole block, ${layers} layers, click, capture, limiter, meters`,
      baseline: 'its own time, 2.67 ms',
      seen: `${percent(share)} (±${percent(spread)})`,
      target: `≤ ${percent(target)}`,
      met: share <= target,
    };
  });
}

function growthRows(): Row[] {
  return [layerGrowth(), lengthGrowth(), formGrowth()];
}

/** What each layer more costs, from one count to the next: so what a block costs anyhow does not matter. */
function layerGrowth(): Row {
  const counts = [8, 64, 256, 1024];
  const timing = timed(
    5,
    counts.map((layers) => playing(layersOf(layers, 4))),
  );
  const per = counts.slice(1).map((layers, i) => {
    const less = counts[i] ?? 0;
    return ((timing(i + 1).median - timing(i).median) * 1e6) / (BLOCKS * (layers - less));
  });
  const growth = (per.at(-1) ?? NaN) / (per[0] ?? NaN);
  const seen = per.map((ns, i) => `${ns.toFixed(0)} (±${percent(timing(i + 1).spread)})`).join(' → ');
  return {
    what: `growth with sounding layers, ${counts.join(' → ')}: ns a layer more and block`,
    baseline: 'from 8 to 64',
    seen: `${seen} ns; ${growth.toFixed(2)} ×`,
    target: 'linear: ≤ 1.5 ×',
    met: growth <= 1.5,
  };
}

/** Layers as long as the song: chunks come in all the while, whatever the length. */
function lengthGrowth(): Row {
  const minutes = [1, 10, 100];
  const timing = timed(
    ROUNDS,
    minutes.map((each) => playing(layersOf(30, each * BARS_A_MINUTE))),
  );
  return flat(
    'growth with song length, 30 layers of 1 → 10 → 100 min',
    'the block at 1 min',
    minutes.map((_, i) => timing(i)),
  );
}

function formGrowth(): Row {
  const entries = [10, 100, 1000];
  const timing = timed(
    ROUNDS,
    entries.map((each) => playing(formOf(each), 8)),
  );
  return flat(
    'growth with form length, 8 layers in each of 10 → 100 → 1,000 sections of 10 s',
    'the block at 10 sections',
    entries.map((_, i) => timing(i)),
  );
}

function flat(what: string, baseline: string, timings: readonly Timing[]): Row {
  const first = timings[0]?.median ?? NaN;
  const growth = Math.max(...timings.map(({ median }) => median / first));
  const seen = timings.map(({ median, spread }) => `${(median / first).toFixed(2)} (±${percent(spread)})`).join(' → ');
  return { what, baseline, seen: `${seen} ×`, target: 'flat: ≤ 1.2 ×', met: growth <= 1.2 };
}

/** While 66 layers play, a program with another one comes, and its audio: 64 kB a chunk, two chunks a block. */
function arrivalRows(): Row[] {
  const quiet: number[] = [];
  const arriving: number[] = [];
  for (let trial = 0; trial < 30; trial++) {
    const loaded = playing(layersOf(66, 1));
    const more = layersOf(67, 1, 2);
    loaded.takeLongest();
    loaded.run(ARRIVAL_BLOCKS);
    quiet.push(loaded.takeLongest());
    loaded.handle({ type: 'use-program', program: more });
    loaded.run(ARRIVAL_BLOCKS);
    arriving.push(loaded.takeLongest());
  }
  const [base, seen] = [timingOf(quiet), timingOf(arriving)];
  const more = seen.median - base.median;
  return [
    {
      what: `a layer arrives while 66 play: the longest block or command of ${ARRIVAL_BLOCKS} blocks`,
      baseline: `nothing arrives: ${base.median.toFixed(2)} ms (±${percent(base.spread)})`,
      seen: `${seen.median.toFixed(2)} ms (±${percent(seen.spread)}), ${more.toFixed(2)} ms more`,
      target: '≤ 1 ms more',
      met: more <= 1,
    },
  ];
}
