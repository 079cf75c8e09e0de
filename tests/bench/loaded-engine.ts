/** An engine that plays many layers, all of their audio in its pool: a page that answers at once. */
import { PRESS_RULES } from '../../src/core/meter/presses.js';
import type { EngineCommand, PassRules } from '../../src/core/render/commands.js';
import { Engine } from '../../src/core/render/engine.js';
import { CHUNK_FRAMES, SLAB_FRAMES } from '../../src/core/render/pool.js';
import { bars, frames, gain, sampleRate } from '../../src/core/units/index.js';
import type { Program } from '../../src/core/program/program.js';
import { STRIP_FIELDS, Strip, voiceCount } from '../../src/core/program/program.js';
import { programOf } from '../support/programs.js';
import { rowProgram } from '../support/row-programs.js';

export const RATE = 48_000;
export const BLOCK = 128;
const BAR = 120_000;
const MOST_RECORDINGS = 256;
/** Ten seconds: a loop of four bars once round, so that all of it has been asked for and is here. */
const SETTLE_BLOCKS = 4200;
const RULES: PassRules = {
  bars: null,
  loopBars: null,
  presses: PRESS_RULES,
  countIn: bars(1),
  channels: [0],
  withoutTempo: false,
  keepLayering: false,
  replaces: null,
};

export interface Loaded {
  /** Renders so many blocks. */
  run(blocks: number): void;
  handle(command: EngineCommand): void;
  /** The longest time since the last call that a block took, or a command, ms. */
  takeLongest(): number;
}

/** Loops of so many bars, each at a place of its own between left and right. */
export function layersOf(layers: number, bodyBars: number, revision = 1): Program {
  const program = programOf(
    {
      sectionBars: bodyBars,
      layers: Array.from({ length: layers }, (_, i) => ({
        voice: 1000 + i,
        // Within the pool's budget: past a few hundred layers, some play the same recording.
        audio: 1000 + (i % MOST_RECORDINGS),
        bodyStart: 4800,
        bodyFrames: bodyBars * BAR,
        bars: bodyBars,
      })),
    },
    revision,
  );
  panned(program.strips);
  return program;
}

/** Eight layers in each of many sections of four bars, one after the other. */
export function formOf(entries: number): Program {
  const section = 4 * BAR;
  const voices = Array.from({ length: 8 * entries }, (_, i) => {
    const start = Math.floor(i / 8) * section;
    const fades = { lead: 480, fadeIn: new Float32Array(480).fill(0.5), fadeOut: new Float32Array(480).fill(0.5) };
    const body = { audio: 1000 + (i % 8), bodyStart: 4800, bodyFrames: section };
    return { id: 1000 + i, ...body, ...fades, start, end: start + section };
  });
  return rowProgram({ grid: { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 }, voices });
}

/** Each strip at a place of its own between left and right, at equal power. */
function panned(strips: Float64Array): void {
  const count = strips.length / STRIP_FIELDS;
  for (let i = 0; i < count; i++) {
    const angle = ((i + 0.5) / count) * (Math.PI / 2);
    strips[i * STRIP_FIELDS + Strip.left] = 0.9 * Math.cos(angle);
    strips[i * STRIP_FIELDS + Strip.right] = 0.9 * Math.sin(angle);
  }
}

/**
 * An engine that has played the program's first ten seconds.
 * @param sounding voices that sound at a time: the more, the quieter each
 */
export function playing(program: Program, sounding = voiceCount(program), click = true): Loaded {
  const waiting: EngineCommand[] = [];
  const chunk = new Float32Array(CHUNK_FRAMES);
  let seed = 1;
  let isReady = false as boolean;
  for (let i = 0; i < chunk.length; i++) {
    seed = (seed * 16_807) % 2_147_483_647;
    chunk[i] = (seed / 1_073_741_823.5 - 1) / (4 * sounding);
  }
  const engine = new Engine({ sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 60 }, (report) => {
    if (report.type === 'slab-wanted') waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
    if (report.type === 'audio-wanted') waiting.push({ ...report, type: 'supply', samples: chunk });
    if (report.type === 'program-ready') isReady = true;
    if (report.type === 'captured') waiting.push({ type: 'return-buffer', buffer: report.buffer });
  });
  let longest = 0;
  const timed = (job: () => void): void => {
    const begun = performance.now();
    job();
    longest = Math.max(longest, performance.now() - begun);
  };
  const answer = (): void => {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) {
      const command = next;
      timed(() => {
        engine.handle(command);
      });
    }
  };
  const handle = (command: EngineCommand): void => {
    timed(() => {
      engine.handle(command);
    });
    answer();
  };
  const input = [new Float32Array(BLOCK)];
  const foldback = [new Float32Array(BLOCK), new Float32Array(BLOCK)] as const;
  const block = (): void => {
    engine.process(input, foldback, null, BLOCK);
  };
  const run = (blocks: number): void => {
    for (let i = 0; i < blocks; i++) {
      timed(block);
      answer();
    }
  };
  const takeLongest = (): number => {
    const most = longest;
    longest = 0;
    return most;
  };
  handle({ type: 'set-rules', rules: RULES });
  handle({ type: 'set-click', playing: click, gain: gain(0.25) });
  handle({ type: 'use-program', program });
  while (!isReady) run(1);
  handle({ type: 'play', heard: frames(0) });
  run(SETTLE_BLOCKS);
  return { run, handle, takeLongest };
}
