import { describe, expect, test } from 'vitest';
import { PRESS_RULES } from '../../../src/core/meter/presses.js';
import type { EngineCommand } from '../../../src/core/render/commands.js';
import { Engine } from '../../../src/core/render/engine.js';
import { SLAB_FRAMES } from '../../../src/core/render/pool.js';
import { bars, frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { rowProgram } from '../../support/row-programs.js';

const RATE = 48_000;
const BAR = 24_000;
const SEQUENCE = Float32Array.from({ length: 1023 }, (_, i) => ((i * 7919) % 13 < 6 ? 0.1 : -0.1));

/** Plays the click alone through a device of so many channels; what left by each, from engine frame 0 on. */
function played(channels: number, block: number, commands: readonly EngineCommand[], length = 4 * BAR): Float32Array[] {
  const waiting: EngineCommand[] = [];
  const engine = new Engine(
    { sampleRate: sampleRate(RATE), inputChannels: 1, ringSeconds: 1, outputChannels: channels },
    (report) => {
      if (report.type === 'slab-wanted') waiting.push({ type: 'supply-slab', slab: new Float32Array(SLAB_FRAMES) });
    },
  );
  const out = Array.from({ length: channels }, () => new Float32Array(length));
  const input = [new Float32Array(block)];
  for (const command of commands) engine.handle(command);
  for (let at = 0; at < length; at += block) {
    for (let next = waiting.shift(); next !== undefined; next = waiting.shift()) engine.handle(next);
    const count = Math.min(block, length - at);
    const part = out.map((channel) => channel.subarray(at, at + count));
    engine.send(input, part, count);
  }
  return out.map((channel) => channel.subarray(engine.lookAhead));
}

const grid = { rate: RATE, barFrames: BAR, pulses: 4, beats: 0b1111 };
const program = () => rowProgram({ grid, voices: [], revision: 1 });
const rules: EngineCommand = {
  type: 'set-rules',
  rules: {
    bars: bars(2),
    loopBars: bars(2),
    presses: PRESS_RULES,
    countIn: bars(1),
    channels: [0],
    withoutTempo: false,
    keepLayering: false,
    replaces: null,
  },
};
const commands = (...more: EngineCommand[]): EngineCommand[] => [
  rules,
  { type: 'set-click', playing: false, gain: gain(0) },
  { type: 'use-program', program: program() },
  { type: 'set-reference', samples: SEQUENCE.slice(), turns: 1 },
  ...more,
];
const press: EngineCommand = { type: 'press', heard: frames(0) };

/** Frames at which the sequence begins. */
function beginnings(channel: Float32Array): number[] {
  const found: number[] = [];
  for (let at = 0; at + SEQUENCE.length < channel.length; at++) {
    if (SEQUENCE.every((sample, i) => Math.abs((channel[at + i] ?? 0) - sample) < 1e-6)) found.push(at);
  }
  return found;
}

describe('the reference', () => {
  test.each([1, 128, 441, 2048])('begins at every bar line, to the frame, in blocks of %i', (block) => {
    const routing: EngineCommand = { type: 'set-routing', routing: { layout: 'side-and-reference', foldback: 'left' } };
    const [left, right] = played(2, block, commands(routing, press));
    const found = beginnings(right!);
    expect(found.length).toBeGreaterThanOrEqual(3);
    expect(found.map((at) => at - found[0]!)).toEqual(found.map((_, k) => k * BAR));
    expect(left!.every((sample) => sample === 0)).toBe(true);
  });

  test('leaves by both outputs of the second pair, and the foldback by the first', () => {
    const routing: EngineCommand = { type: 'set-routing', routing: { layout: 'pair-and-reference' } };
    const [first, second, third, fourth] = played(4, 128, commands(routing, press));
    expect(beginnings(third!).length).toBeGreaterThanOrEqual(3);
    expect(fourth).toEqual(third);
    expect(first!.every((sample) => sample === 0) && second!.every((sample) => sample === 0)).toBe(true);
  });

  test('takes turns: bar n from the origin gets the one whose turn it is', () => {
    const routing: EngineCommand = { type: 'set-routing', routing: { layout: 'side-and-reference', foldback: 'left' } };
    const both = Float32Array.from([...SEQUENCE, ...SEQUENCE.map((sample) => -sample)]);
    const [, right] = played(2, 128, commands(routing, { type: 'set-reference', samples: both, turns: 2 }, press));
    const found = beginnings(right!);
    expect(found.length).toBeGreaterThanOrEqual(2);
    expect(found.map((at) => at - found[0]!)).toEqual(found.map((_, k) => 2 * k * BAR));
    expect(beginnings(right!.map((sample) => -sample)).map((at) => Math.abs(at - found[0]!) % (2 * BAR))).toContain(
      BAR,
    );
  });

  test('is silent where nothing plays, where none was given, and where the routing has no place for it', () => {
    const routing: EngineCommand = { type: 'set-routing', routing: { layout: 'side-and-reference', foldback: 'left' } };
    const silent = (channels: Float32Array[]): boolean =>
      channels.every((each) => each.every((sample) => sample === 0));
    expect(silent(played(2, 128, commands(routing)))).toBe(true);
    expect(silent(played(2, 128, commands(routing, { type: 'set-reference', samples: null, turns: 1 }, press)))).toBe(
      true,
    );
    expect(silent(played(2, 128, commands(press)))).toBe(true);
  });
});
