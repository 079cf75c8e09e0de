/** One script, run by the engine in Node and by the bundled processor in a page: the same commands at the same frames. */
import { PRESS_RULES } from '../../../src/core/meter/presses.js';
import { programOf } from '../programs.js';
import type { EngineCommand, PassRules } from '../../../src/core/render/commands.js';
import { Engine } from '../../../src/core/render/engine.js';
import { SLAB_FRAMES } from '../../../src/core/render/pool.js';
import { bars, frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { noiseAt } from '../signals.js';

const BLOCK = 128;
const RATE = 48_000;
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

export interface OfflineScript {
  readonly frames: number;
  /** Mix to ring. */
  readonly roundTrip: number;
  /** Frames at which the switch is pressed, multiples of the block; the first begins a count-in. */
  readonly presses: readonly number[];
}

/** What the page needs to do the same; numbers and text alone. */
export interface OfflineJob {
  readonly url: string;
  readonly frames: number;
  readonly roundTrip: number;
  readonly presses: readonly number[];
  readonly slabFrames: number;
  readonly rules: PassRules;
  readonly pageFrames: number;
  /** The program's arrays and the input, as base64 of their bytes. */
  readonly arrays: Readonly<Record<'voices' | 'strips' | 'stretches' | 'curves' | 'input', string>>;
}

/** Quiet noise: every frame differs, and the limiter has nothing to do. */
const inputOf = (script: OfflineScript): Float32Array =>
  Float32Array.from({ length: script.frames }, (_, i) => 0.2 * noiseAt(i, 11));

export function jobOf(script: OfflineScript, url: string): OfflineJob {
  const { voices, strips, stretches, curves } = programOf();
  return {
    ...script,
    url,
    slabFrames: SLAB_FRAMES,
    rules: RULES,
    pageFrames: Infinity,
    arrays: {
      voices: textOf(voices),
      strips: textOf(strips),
      stretches: textOf(stretches),
      curves: textOf(curves),
      input: textOf(inputOf(script)),
    },
  };
}

/** The left channel that the engine in Node renders. */
export function renderHere(script: OfflineScript): Float32Array {
  const waiting: EngineCommand[] = [];
  const engine = new Engine({ sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 60 }, (report) => {
    if (report.type === 'slab-wanted') waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
    if (report.type === 'captured') waiting.push({ type: 'return-buffer', buffer: report.buffer });
  });
  const input = inputOf(script);
  const out = new Float32Array(script.frames);
  const right = new Float32Array(BLOCK);
  for (let at = 0; at < script.frames; at += BLOCK) {
    if (at === BLOCK) {
      engine.handle({
        type: 'set-round-trip',
        roundTrip: { frames: frames(script.roundTrip), how: 'measured', sure: true },
      });
      engine.handle({ type: 'set-click', playing: true, gain: gain(0.25) });
      engine.handle({ type: 'set-rules', rules: RULES });
      engine.handle({ type: 'use-program', program: programOf() });
    }
    if (script.presses.includes(at)) engine.handle({ type: 'press', heard: frames(at) });
    for (let command = waiting.shift(); command !== undefined; command = waiting.shift()) engine.handle(command);
    engine.process([input.subarray(at, at + BLOCK)], [out.subarray(at, at + BLOCK), right], null, BLOCK);
  }
  return out;
}

/** Runs in the page. @returns base64 of the left channel. */
export async function renderInPage(job: OfflineJob): Promise<string> {
  const bytesOf = (text: string): ArrayBuffer => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const context = new OfflineAudioContext({ numberOfChannels: 2, length: job.frames, sampleRate: 48_000 });
  await context.audioWorklet.addModule(job.url);
  const node = new AudioWorkletNode(context, 'manyhand-engine', {
    outputChannelCount: [2],
    channelCount: 1,
    channelCountMode: 'explicit',
    processorOptions: { sampleRate: 48_000, inputChannels: 1, ringSeconds: 60, baseLatencySeconds: 0 },
  });
  const buffer = context.createBuffer(1, job.frames, 48_000);
  buffer.copyToChannel(new Float32Array(bytesOf(job.arrays.input)), 0);
  const source = new AudioBufferSourceNode(context, { buffer });
  source.connect(node).connect(context.destination);
  source.start();

  let answered: () => void = () => undefined;
  const send = (command: unknown): void => {
    node.port.postMessage({ type: 'command', command });
  };
  node.port.onmessage = ({ data }: MessageEvent<{ type: string; report: { type: string; buffer: Float32Array } }>) => {
    if (data.type !== 'report') return;
    if (data.report.type === 'captured') send({ type: 'return-buffer', buffer: data.report.buffer });
    if (data.report.type === 'plan-changed' || data.report.type === 'refused') answered();
  };
  /** Commands take effect in order, so when the last is answered all have been handled. */
  const sendAt = (frame: number, commands: readonly unknown[]): void => {
    void context.suspend(frame / 48_000).then(async () => {
      const done = new Promise<void>((resolve) => {
        answered = resolve;
      });
      for (const command of commands) send(command);
      await done;
      await context.resume();
    });
  };
  sendAt(128, [
    { type: 'supply-slab', slab: new Float32Array(job.slabFrames) },
    { type: 'set-round-trip', roundTrip: { frames: job.roundTrip, how: 'measured', sure: true } },
    { type: 'set-click', playing: true, gain: 0.25 },
    { type: 'set-rules', rules: job.rules },
    {
      type: 'use-program',
      program: {
        revision: 1,
        sampleRate: 48_000,
        passesKnown: 0,
        leadFrames: 0,
        pageFrames: job.pageFrames,
        voices: new Float64Array(bytesOf(job.arrays.voices)),
        strips: new Float64Array(bytesOf(job.arrays.strips)),
        stretches: new Float64Array(bytesOf(job.arrays.stretches)),
        curves: new Float32Array(bytesOf(job.arrays.curves)),
      },
    },
    // Refused, since there is nothing to take back: the answer that all of the above has been handled.
    { type: 'take-back', heard: 0 },
  ]);
  for (const frame of job.presses) sendAt(frame, [{ type: 'press', heard: frame }]);
  const rendered = await context.startRendering();
  const bytes = new Uint8Array(rendered.getChannelData(0).buffer);
  let binary = '';
  for (let i = 0; i < bytes.length; i += 32_768) binary += String.fromCharCode(...bytes.subarray(i, i + 32_768));
  return btoa(binary);
}

const textOf = (array: Float32Array | Float64Array): string =>
  Buffer.from(array.buffer, array.byteOffset, array.byteLength).toString('base64');
