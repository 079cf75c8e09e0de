/** An engine that plays many layers, all of their audio in its pool: a page that answers at once. */
import type { EngineCommand, PassRules } from '../../src/core/render/commands.js';
import { Engine } from '../../src/core/render/engine.js';
import { CHUNK_FRAMES, SLAB_FRAMES } from '../../src/core/render/pool.js';
import { bars, frames, gain, sampleRate } from '../../src/core/units/index.js';
import { programOf } from '../support/programs.js';

export const RATE = 48_000;
export const BLOCK = 128;
const BAR = 120_000;
const MOST_RECORDINGS = 200;
const RULES: PassRules = {
  bars: null,
  countIn: bars(1),
  channels: [0],
  withoutTempo: false,
  keepLayering: false,
  replaces: null,
};

export interface Loaded {
  /** Renders so many blocks. */
  run(blocks: number): void;
  readonly engine: Engine;
  handle(command: EngineCommand): void;
}

/**
 * @param layers loops of `bodyBars` bars, quiet noise
 * @param click whether the click sounds
 */
export function loadedEngine(layers: number, bodyBars = 4, click = true): Loaded {
  const waiting: EngineCommand[] = [];
  const chunk = new Float32Array(CHUNK_FRAMES);
  let seed = 1;
  let isReady = false as boolean;
  for (let i = 0; i < chunk.length; i++) {
    seed = (seed * 16_807) % 2_147_483_647;
    chunk[i] = (seed / 1_073_741_823.5 - 1) / (4 * layers);
  }
  const engine = new Engine({ sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 60 }, (report) => {
    if (report.type === 'slab-wanted') waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
    if (report.type === 'audio-wanted') waiting.push({ ...report, type: 'supply', samples: chunk.slice() });
    if (report.type === 'program-ready') isReady = true;
    if (report.type === 'captured') waiting.push({ type: 'return-buffer', buffer: report.buffer });
  });
  const handle = (command: EngineCommand): void => {
    engine.handle(command);
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) engine.handle(next);
  };
  const program = programOf({
    sectionBars: bodyBars,
    layers: Array.from({ length: layers }, (_, i) => ({
      voice: 1000 + i,
      // Within the pool's budget: past a few hundred layers, some play the same recording.
      audio: 1000 + (i % MOST_RECORDINGS),
      bodyStart: 4800,
      bodyFrames: bodyBars * BAR,
      bars: bodyBars,
    })),
  });
  const input = [new Float32Array(BLOCK)];
  const foldback = [new Float32Array(BLOCK), new Float32Array(BLOCK)] as const;
  const run = (blocks: number): void => {
    for (let i = 0; i < blocks; i++) {
      engine.process(input, foldback, null, BLOCK);
      for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) engine.handle(next);
    }
  };
  handle({ type: 'set-rules', rules: RULES });
  handle({ type: 'set-click', playing: click, gain: gain(0.25) });
  handle({ type: 'use-program', program });
  while (!isReady) run(1);
  handle({ type: 'play', heard: frames(0) });
  // Once round, so that all of it has been asked for and is here.
  run(Math.ceil((bodyBars * BAR) / BLOCK) + 400);
  return { run, engine, handle };
}
