/** Voices that are added four in a pass, by themselves, or not at all: which way a block went makes no difference to a bit. */
import { describe, expect, test } from 'vitest';
import { AudioStore } from '../../../src/core/render/audio-store.js';
import { Mixer } from '../../../src/core/render/mixer.js';
import { CHUNK_FRAMES, ChunkPool, SLAB_BYTES, SLAB_FRAMES } from '../../../src/core/render/pool.js';
import { sampleRate } from '../../../src/core/units/index.js';
import type { RowVoice } from '../../support/row-programs.js';
import { rowProgram } from '../../support/row-programs.js';
import { noiseAt } from '../../support/signals.js';

const GRID = { rate: 48_000, barFrames: 5000, pulses: 4, beats: 0b1111 };
const BODY = 20_000;
const FRAMES = 3 * BODY;

interface Played {
  readonly left: Float64Array;
  readonly right: Float64Array;
  readonly late: number;
}

/** A mixer with a program and its audio, started at frame 0. */
function mixerWith(voices: readonly RowVoice[], without: (chunk: number) => boolean = () => false): Mixer {
  const pool = new ChunkPool(SLAB_BYTES);
  pool.addSlab(new Float32Array(SLAB_FRAMES));
  const store = new AudioStore(pool);
  for (const { audio } of voices) {
    const channel = store.known(audio, 0, 2);
    for (const chunk of [0, 1]) {
      const samples = Float32Array.from({ length: CHUNK_FRAMES }, (_, i) => noiseAt(chunk * CHUNK_FRAMES + i, audio));
      if (!without(chunk)) channel.write(chunk * CHUNK_FRAMES, samples, 0, CHUNK_FRAMES);
    }
  }
  const mixer = new Mixer(pool, store, sampleRate(GRID.rate));
  mixer.useProgram(rowProgram({ grid: GRID, voices }), { at: 0, origin: null });
  mixer.startFrom(0, 0);
  return mixer;
}

function play(mixer: Mixer, sizes: readonly number[], frames = FRAMES): Played {
  const [left, right] = [new Float64Array(frames), new Float64Array(frames)];
  let late = 0;
  for (let at = 0, next = 0; at < frames;) {
    const end = Math.min(frames, at + sizes[next++ % sizes.length]!);
    late += mixer.render(at, end - at, left.subarray(at, end), right.subarray(at, end));
    at = end;
  }
  return { left, right, late };
}

const voice = (i: number, more: Partial<RowVoice> = {}): RowVoice => ({
  id: 1 + i,
  audio: 1 + i,
  bodyStart: 300 + 7 * i,
  bodyFrames: BODY,
  left: 0.1 + i / 50,
  right: 0.3 - i / 60,
  ...more,
});
const voices = (count: number): RowVoice[] => Array.from({ length: count }, (_, i) => voice(i));

describe('the sum of voices', () => {
  test.each([1, 2, 3, 4, 5, 7, 8, 9, 13])('of %i is each times its gains, added in order, in doubles', (count) => {
    const { left, right } = play(mixerWith(voices(count)), [128]);
    for (let frame = 0; frame < FRAMES; frame += 41) {
      let [l, r] = [0, 0];
      for (const each of voices(count)) {
        const sample = Math.fround(noiseAt(each.bodyStart + (frame % BODY), each.audio));
        l += sample * each.left!;
        r += sample * each.right!;
      }
      expect([left[frame], right[frame]]).toEqual([l, r]);
    }
  });

  test.each([[[1]], [[127, 3]], [[64, 100, 5]]])('is the same to the bit in blocks of %j', (sizes) => {
    const some = [...voices(6), voice(6, { start: 9001 }), voice(7, { end: BODY, tail: 500 }), voice(8, { lead: 200 })];
    const even = play(mixerWith(some), [128]);
    const other = play(mixerWith(some), sizes);
    expect(other.left).toEqual(even.left);
    expect(other.right).toEqual(even.right);
  });

  test('is no other for voices that are muted, to come, or over', () => {
    const silent = [
      voice(20, { left: 0, right: 0 }),
      voice(21, { start: 10 * BODY }),
      voice(22, { start: -5 * BODY, end: -4 * BODY }),
    ];
    const mixed = voices(9).flatMap((each, i) => [each, { ...silent[i % 3]!, id: 100 + i }]);
    const without = play(mixerWith(voices(9)), [128]);
    const got = play(mixerWith(mixed), [128]);
    expect(got.left).toEqual(without.left);
    expect(got.right).toEqual(without.right);
  });

  test('has a voice from the first frame of its lead on, wherever in a block that is', () => {
    const { left } = play(mixerWith([voice(0), voice(1, { start: 9001, lead: 250 })]), [128]);
    const alone = play(mixerWith([voice(0)]), [128]).left;
    const first = left.findIndex((sample, frame) => sample !== alone[frame]);
    expect(first).toBe(9001 - 250);
  });

  test('lacks what is not in the pool, and says how many frames', () => {
    const { late, left } = play(
      mixerWith(voices(4), (chunk) => chunk === 1),
      [128],
      BODY,
    );
    expect(late).toBe(voices(4).reduce((sum, { bodyStart }) => sum + bodyStart + BODY - CHUNK_FRAMES, 0));
    expect(left.subarray(CHUNK_FRAMES).every((sample) => sample === 0)).toBe(true);
  });

  test('follows a change of gains at once, though nothing else had happened to the voices', () => {
    const [before, after] = [voices(8), voices(8).map((each) => ({ ...each, left: each.left! / 2 }))];
    const mixer = mixerWith(before);
    const first = play(mixer, [128], 1024);
    mixer.useProgram(rowProgram({ grid: GRID, voices: after, revision: 2 }), { at: 1024, origin: 0 });
    const [left, right] = [new Float64Array(128), new Float64Array(128)];
    for (let at = 1024; at < 2048; at += 128) {
      left.fill(0);
      mixer.render(at, 128, left, right);
    }
    const full = play(mixerWith(before), [128], 2048).left;
    expect(first.left).toEqual(full.subarray(0, 1024));
    for (const i of [0, 50, 127]) expect(left[i]).toBeCloseTo(full[1920 + i]! / 2, 9);
  });
});
