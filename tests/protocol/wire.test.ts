import { describe, expect, test } from 'vitest';
import { PRESS_RULES } from '../../src/core/meter/presses.js';
import type { EngineCommand } from '../../src/core/render/commands.js';
import { NO_SEAM } from '../../src/core/seam/seam.js';
import { bars, frames, gain } from '../../src/core/units/index.js';
import { transfersOfCommand } from '../../src/protocol/wire.js';
import { programOf } from '../support/programs.js';

const heard = frames(0);
const samples = (): Float32Array<ArrayBuffer> => new Float32Array(4);

const COMMANDS: { readonly [Type in EngineCommand['type']]: Extract<EngineCommand, { type: Type }> } = {
  'use-program': { type: 'use-program', program: programOf({}, 1, 0) },
  'set-rules': {
    type: 'set-rules',
    rules: {
      bars: null,
      loopBars: null,
      presses: PRESS_RULES,
      countIn: bars(1),
      channels: [0],
      withoutTempo: false,
      keepLayering: false,
      replaces: null,
    },
  },
  'set-round-trip': { type: 'set-round-trip', roundTrip: { frames: frames(4928), how: 'cable', sure: true } },
  'set-click': { type: 'set-click', playing: true, gain: gain(0.25) },
  'set-opening': { type: 'set-opening', voice: 1, opening: NO_SEAM },
  'set-level': { type: 'set-level', bus: 'house', gain: gain(1) },
  'set-monitor': { type: 'set-monitor', on: false, gain: gain(1) },
  'set-routing': { type: 'set-routing', routing: { layout: 'pair' } },
  'send-probe': { type: 'send-probe', samples: samples(), heard: samples() },
  'drop-probe': { type: 'drop-probe' },
  'set-reference': { type: 'set-reference', samples: samples(), turns: 4 },
  press: { type: 'press', heard },
  play: { type: 'play', heard },
  stop: { type: 'stop', heard },
  'take-back': { type: 'take-back', heard },
  'keep-that': { type: 'keep-that', heard, bars: bars(4) },
  join: { type: 'join', origin: heard },
  'end-standstill': { type: 'end-standstill', heard },
  'stand-by': { type: 'stand-by', slot: 0, program: programOf({}, 2, 0) },
  go: { type: 'go', slot: 0, heard },
  supply: { type: 'supply', audio: 1, channel: 0, chunk: 0, samples: samples() },
  'audio-stored': { type: 'audio-stored', audio: 1, frames: frames(9) },
  'supply-slab': { type: 'supply-slab', slab: samples() },
  'return-buffer': { type: 'return-buffer', buffer: samples() },
};

/** Every buffer that lies anywhere in a value. */
function buffersIn(value: unknown): readonly ArrayBufferLike[] {
  if (ArrayBuffer.isView(value)) return [value.buffer];
  return typeof value === 'object' && value !== null ? Object.values(value).flatMap(buffersIn) : [];
}

describe('a command', () => {
  test.each(Object.values(COMMANDS))('gives away every buffer that is in it, and no other: $type', (command) => {
    const given = transfersOfCommand(command);
    expect(new Set(given)).toEqual(new Set(buffersIn(command)));
    expect(new Set(given).size).toBe(given.length);
  });

  test('with a program that stands by takes four buffers across, as one that plays does', () => {
    expect(transfersOfCommand(COMMANDS['use-program'])).toHaveLength(4);
    expect(transfersOfCommand(COMMANDS['stand-by'])).toHaveLength(4);
  });

  test('that takes the reference away gives nothing away', () => {
    expect(transfersOfCommand({ type: 'set-reference', samples: null, turns: 1 })).toEqual([]);
  });
});
