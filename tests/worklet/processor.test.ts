/** The audio thread's shell, with everything round it faked: what is heard of the input goes through the monitor. */
import { describe, expect, test } from 'vitest';
import { gain } from '../../src/core/units/index.js';
import type { AudioThread } from '../support/audio-thread.js';
import { audioThread, FakePiecePort } from '../support/audio-thread.js';
import { signal } from '../support/tones.js';

const BLOCK = 128;
const LOOK_AHEAD = 96;
/** Until the monitor is fully up. */
const MONITOR_UP = 1024;
/** What must not be written over, on both sides of an output. */
const CANARY = 12345;

/** Outputs cut out of longer arrays that are full of canaries; whether all of those still sing. */
function guardedOutputs(channels: number, frames = BLOCK) {
  const buffers = Array.from({ length: channels }, () => new Float32Array(frames + 16).fill(CANARY));
  const outputs = buffers.map((buffer) => buffer.subarray(8, 8 + frames).fill(0));
  const intact = () =>
    buffers.every((buffer) => [...buffer.subarray(0, 8), ...buffer.subarray(8 + frames)].every((s) => s === CANARY));
  return { outputs, intact };
}

/** Plays samples into a monitored processor; the left channel that comes out, undelayed by the limiter. */
function throughMonitor(thread: AudioThread, samples: Float32Array, block = BLOCK): Float32Array {
  thread.command({ type: 'set-monitor', on: true, gain: gain(1) });
  const padded = new Float32Array(MONITOR_UP + samples.length + block + LOOK_AHEAD);
  padded.set(samples, MONITOR_UP);
  const out = new Float32Array(padded.length);
  for (let at = 0; at + block <= padded.length; at += block) {
    const { outputs, intact } = guardedOutputs(2, block);
    expect(thread.process([[padded.slice(at, at + block)]], [outputs], block)).toBe(true);
    expect(intact()).toBe(true);
    out.set(outputs[0]!, at);
  }
  return out.subarray(MONITOR_UP + LOOK_AHEAD, MONITOR_UP + LOOK_AHEAD + samples.length);
}

describe('the processor', () => {
  test('says first that the engine stands, and by how much its output is late', async () => {
    const thread = await audioThread();
    const ready = thread.all('ready');
    expect(ready).toEqual([{ type: 'ready', lookAhead: LOOK_AHEAD }]);
  });

  test.each([
    ['an impulse', signal(256, (i) => (i === 77 ? 0.3 : 0))],
    ['a ramp', signal(512, (i) => i / 2000)],
    ['silence', new Float32Array(512)],
  ])('lets %s through to the bit, inside its outputs', async (_name, samples) => {
    expect(throughMonitor(await audioThread(), samples)).toEqual(samples);
  });

  test.each([1, 127, 128, 441])('gives the same samples in blocks of %i', async (block) => {
    const samples = signal(4000, (i) => 0.6 * Math.sin(i * i * 1e-4));
    const whole = throughMonitor(await audioThread(), samples);
    expect(throughMonitor(await audioThread(), samples, block)).toEqual(whole);
  });

  test('overwrites whatever an output held', async () => {
    const thread = await audioThread();
    const outputs = [new Float32Array(BLOCK).fill(0.5), new Float32Array(BLOCK).fill(0.5)];
    thread.process([[new Float32Array(BLOCK)]], [outputs]);
    expect(outputs.flatMap((channel) => [...channel]).every((sample) => sample === 0)).toBe(true);
  });

  test('feeds four channels where the device has them, and refuses two pairs where it has two', async () => {
    const wide = await audioThread({ outputChannels: 4 });
    wide.command({ type: 'set-routing', routing: { layout: 'two-pairs', foldback: 'second' } });
    wide.command({ type: 'set-monitor', on: true, gain: gain(1) });
    let last: Float32Array[] = [];
    for (let i = 0; i < 20; i++) {
      const { outputs, intact } = guardedOutputs(4);
      wide.process([[new Float32Array(BLOCK).fill(0.25)]], [outputs]);
      expect(intact()).toBe(true);
      last = outputs;
    }
    expect(last.map((channel) => channel[BLOCK - 1])).toEqual([0, 0, 0.25, 0.25]);
    expect(wide.all('report').filter(({ report }) => report.type === 'refused')).toEqual([]);

    const narrow = await audioThread();
    narrow.command({ type: 'set-routing', routing: { layout: 'two-pairs', foldback: 'second' } });
    expect(narrow.all('report').map(({ report }) => report)).toContainEqual(
      expect.objectContaining({ type: 'refused', command: 'set-routing', why: 'too-few-outputs' }),
    );
  });
});

describe('what may be missing', () => {
  const ways: [string, () => [Float32Array[][], Float32Array[][]]][] = [
    ['an input', () => [[], [[new Float32Array(BLOCK), new Float32Array(BLOCK)]]]],
    ['the channels of the input', () => [[[]], [[new Float32Array(BLOCK), new Float32Array(BLOCK)]]]],
    ['an output', () => [[[new Float32Array(BLOCK)]], []]],
    ['the channels of the output', () => [[[new Float32Array(BLOCK)]], [[]]]],
    ['the right channel of the output', () => [[[new Float32Array(BLOCK)]], [[new Float32Array(BLOCK)]]]],
    ['everything', () => [[], []]],
  ];

  test.each(ways)('without %s it goes on, and time with it', async (_name, make) => {
    const thread = await audioThread();
    for (let i = 0; i < 16; i++) expect(thread.process(...make())).toBe(true);
    expect(thread.all('failed')).toEqual([]);
    expect(thread.all('clock').map(({ rendered }) => rendered)).toEqual([7 * BLOCK, 15 * BLOCK]);
  });
});

describe('an engine that throws', () => {
  test('is silence from then on, and says so once', async () => {
    const thread = await audioThread();
    throughMonitor(thread, new Float32Array(BLOCK));
    thread.command({ type: 'use-program', program: null as never });
    thread.command({ type: 'use-program', program: null as never });
    for (let i = 0; i < 20; i++) {
      const { outputs, intact } = guardedOutputs(2);
      outputs[0]!.fill(0.5);
      expect(thread.process([[new Float32Array(BLOCK).fill(0.25)]], [outputs])).toBe(true);
      expect(outputs.flatMap((channel) => [...channel]).every((sample) => sample === 0)).toBe(true);
      expect(intact()).toBe(true);
    }
    expect(thread.all('failed')).toHaveLength(1);
    expect(thread.all('failed')[0]?.message).toMatch(/null/);
  });

  test('in the middle of a block leaves silence in that block too', async () => {
    const thread = await audioThread();
    throughMonitor(thread, new Float32Array(BLOCK));
    const input = Object.defineProperty([], 0, {
      get: () => {
        throw new RangeError('no such channel');
      },
    });
    const outputs = [new Float32Array(BLOCK).fill(0.5), new Float32Array(BLOCK).fill(0.5)];
    expect(thread.process([input], [outputs])).toBe(true);
    expect(outputs.flatMap((channel) => [...channel]).every((sample) => sample === 0)).toBe(true);
    expect(thread.all('failed')).toEqual([{ type: 'failed', message: 'no such channel' }]);
  });
});

test('closed by the page it is silent and done', async () => {
  const thread = await audioThread();
  throughMonitor(thread, new Float32Array(BLOCK));
  thread.send({ type: 'close' });
  const { outputs } = guardedOutputs(2);
  outputs[0]!.fill(0.5);
  expect(thread.process([[new Float32Array(BLOCK).fill(0.25)]], [outputs])).toBe(false);
  expect(outputs[0]!.every((sample) => sample === 0)).toBe(true);
});

describe('a reading of the clock', () => {
  const run = (thread: AudioThread, blocks: number, msPerBlock = 8 / 3, level = 0): void => {
    for (let i = 0; i < blocks; i++) {
      thread.now += msPerBlock;
      const { outputs } = guardedOutputs(2);
      thread.process([[new Float32Array(BLOCK).fill(level)]], [outputs]);
    }
  };

  test('comes every eight blocks, with frames, peaks, and no gap or fault', async () => {
    const thread = await audioThread();
    run(thread, 8, 8 / 3, 0.25);
    expect(thread.all('clock')).toEqual([
      {
        type: 'clock',
        rendered: 7 * BLOCK,
        contextAhead: 0,
        peaks: {
          input: [{ peak: 0.25, held: 0.25 }],
          house: { peak: 0, held: 0 },
          foldback: { peak: 0, held: 0 },
        },
        load: null,
        gaps: [],
        gapCount: 0,
        faults: { 'late-chunk': 0, 'frames-lost': 0, 'pool-full': 0, 'not-a-number': 0 },
        captured: 8 * BLOCK,
        zeros: [],
        phase: { at: 1_000_000 + 8 / 3, behind: 0 },
      },
    ]);
  });

  test('says how far the context is ahead, though its clock freezes for some blocks', async () => {
    const thread = await audioThread();
    const scope = globalThis as { currentFrame?: number };
    scope.currentFrame = 5000;
    run(thread, 3);
    scope.currentFrame -= 2 * BLOCK;
    run(thread, 5);
    expect(thread.all('clock')[0]?.contextAhead).toBe(5000);
  });

  test('counts what was no number, in the input and in all that is mixed', async () => {
    const thread = await audioThread();
    run(thread, 4);
    const { outputs } = guardedOutputs(2);
    const input = new Float32Array(BLOCK);
    input[3] = NaN;
    input[4] = Infinity;
    thread.process([[input]], [outputs]);
    run(thread, 3);
    expect(thread.all('clock').at(-1)?.faults['not-a-number']).toBe(2);
    expect(thread.all('report').map(({ report }) => report)).toContainEqual(
      expect.objectContaining({ type: 'fault', kind: 'not-a-number', count: 2 }),
    );
  });

  test('tells every gap once, where it was and how long', async () => {
    const thread = await audioThread();
    run(thread, 8);
    thread.now += 50;
    run(thread, 16);
    const [first, second, third] = thread.all('clock');
    expect(first?.gaps).toEqual([]);
    expect(second?.gaps.map(({ at }) => at)).toEqual([8 * BLOCK]);
    expect(second?.gaps[0]?.milliseconds).toBeCloseTo(50 + 8 / 3, 6);
    expect(third?.gaps).toEqual([]);
    expect(third?.gapCount).toBe(1);
  });
});

describe('input that is counted elsewhere', () => {
  test('is recorded as it comes by the port, and its buffers go back', async () => {
    const thread = await audioThread();
    const port = new FakePiecePort();
    thread.send({ type: 'use-counted' }, [port]);
    const block = (): boolean => thread.process([[new Float32Array(BLOCK)]], [guardedOutputs(2).outputs]);
    for (let i = 0; i < 16; i++) block();
    const samples = new Float32Array(512).fill(0.5);
    port.onmessage?.({ data: { frame: 0, frames: 500, channels: 1, samples } });
    expect(port.posted).toEqual([samples]);
    port.onmessage?.({ data: { frame: 500, frames: 500, channels: 1, samples } });
    for (let i = 0; i < 8; i++) block();
    expect(thread.all('clock').map(({ captured }) => captured)).toEqual([0, 0, 16 * BLOCK + 500]);
  });

  test('that cannot be taken is an engine that failed, said once', async () => {
    const thread = await audioThread();
    const port = new FakePiecePort();
    thread.send({ type: 'use-counted' }, [port]);
    const samples = Object.defineProperty(new Float32Array(4), 'subarray', {
      value: () => {
        throw new RangeError('no such part');
      },
    });
    for (let i = 0; i < 2; i++) port.onmessage?.({ data: { frame: 4 * i, frames: 4, channels: 1, samples } });
    expect(thread.all('failed')).toEqual([{ type: 'failed', message: 'no such part' }]);
    expect(port.posted).toHaveLength(2);
  });

  test('without a port is not waited for', async () => {
    const thread = await audioThread();
    thread.send({ type: 'use-counted' });
    for (let i = 0; i < 8; i++) thread.process([[new Float32Array(BLOCK)]], [guardedOutputs(2).outputs]);
    expect(thread.all('clock').map(({ captured }) => captured)).toEqual([8 * BLOCK]);
  });

  test('is numbered in time where the input is silent, and that is told', async () => {
    const thread = await audioThread();
    const port = new FakePiecePort();
    thread.send({ type: 'use-counted' }, [port]);
    for (let i = 0; i < 400; i++) {
      thread.process([[new Float32Array(BLOCK)]], [guardedOutputs(2).outputs]);
      port.onmessage?.({
        data: { frame: i * BLOCK, frames: BLOCK, channels: 1, samples: new Float32Array(BLOCK) },
      });
    }
    expect(thread.all('observed')).toEqual([
      { type: 'observed', observation: { type: 'capture-settled', at: 376 * BLOCK, agreed: false } },
    ]);
  });
});

test('runs of zeros in the input are told with the next reading', async () => {
  const thread = await audioThread();
  const play = (level: number, blocks: number): void => {
    for (let i = 0; i < blocks; i++) {
      thread.process([[new Float32Array(BLOCK).fill(level)]], [guardedOutputs(2).outputs]);
    }
  };
  play(0.1, 3);
  play(0, 8);
  play(0.1, 5);
  expect(thread.all('clock').map(({ zeros }) => zeros)).toEqual([
    [],
    [{ type: 'zero-run', from: 3 * BLOCK, frames: 8 * BLOCK }],
  ]);
});
