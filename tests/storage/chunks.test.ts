import { describe, expect, test } from 'vitest';
import { frames } from '../../src/core/units/index.js';
import { assemble, packChunk } from '../../src/storage/chunks.js';
import type { ChunkRow } from '../../src/storage/schema.js';
import { chunk, sampleAt } from './support/given.js';

const row = (start: number, length: number, change: Partial<Record<keyof ChunkRow, unknown>> = {}): unknown => ({
  ...packChunk(chunk(0, start, length)),
  ...change,
});
const read = (rows: readonly unknown[], channel: number, start: number, count: number) => {
  const { samples, missing } = assemble(rows, channel, frames(start), frames(count));
  return { samples: Array.from(samples), missing };
};

describe('packing a chunk', () => {
  test('lays the channels one behind the other in one buffer', () => {
    const packed = packChunk(chunk(3, 100, 2));
    expect(packed).toMatchObject({ recording: 'recording-1', seq: 3, start: 100, frames: 2, channels: 2 });
    expect(Array.from(new Float32Array(packed.samples))).toEqual([
      sampleAt(0, 100),
      sampleAt(0, 101),
      sampleAt(1, 100),
      sampleAt(1, 101),
    ]);
  });

  test('takes of an array only what it shows of its buffer', () => {
    const ring = Float32Array.from([9, 1, 2, 9]);
    const packed = packChunk({ ...chunk(0, 0, 1), audio: [ring.subarray(1, 3)] });
    expect(Array.from(new Float32Array(packed.samples))).toEqual([1, 2]);
  });
});

describe('putting a range together', () => {
  test.each<[string, Partial<Record<keyof ChunkRow, unknown>>]>([
    ['a buffer that is too short', { samples: new ArrayBuffer(4) }],
    ['a buffer that is too long', { samples: new ArrayBuffer(400) }],
    ['a buffer of odd bytes', { samples: new ArrayBuffer(79) }],
    ['no buffer', { samples: null }],
    ['a number for a buffer', { samples: 80 }],
    ['half a frame', { frames: 9.5 }],
    ['no channels', { channels: 0 }],
    ['a channel too few', { channels: 1, samples: new ArrayBuffer(40) }],
    ['a start that is none', { start: 'early' }],
  ])('counts the frames of a damaged chunk as missing, and keeps the rest: %s', (_, change) => {
    const expected = Array.from({ length: 30 }, (_sample, frame) =>
      frame >= 10 && frame < 20 ? 0 : sampleAt(1, frame),
    );
    expect(read([row(0, 10), row(10, 10, change), row(20, 10)], 1, 0, 30)).toEqual({ samples: expected, missing: 10 });
  });

  test.each([null, undefined, 'text', 1, []])('counts a row that is none as missing: %j', (nothing) => {
    expect(read([nothing], 0, 0, 2)).toEqual({ samples: [0, 0], missing: 2 });
  });

  test('counts no frame twice where damaged chunks overlap', () => {
    const overlapping = [row(0, 10), row(5, 10)];
    expect(read(overlapping, 0, 0, 20).missing).toBe(5);
    expect(read(overlapping, 0, 0, 15).samples).toEqual(Array.from({ length: 15 }, (_, frame) => sampleAt(0, frame)));
  });
});
