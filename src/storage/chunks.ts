/** Chunks of a recording: packing planar audio into one buffer, and putting a range together again. */
import * as v from 'valibot';
import type { RecordingId } from '../core/song/ids.js';
import { frames, type Frames } from '../core/units/index.js';
import type { RecordingChunk } from '../ports/library.js';
import { identity, quantity } from './document-schema.js';
import { expectThat } from './library-error.js';
import type { ChunkRow } from './schema.js';

const BYTES = Float32Array.BYTES_PER_ELEMENT;

const chunkSchema = v.object({
  recording: identity<RecordingId>(),
  seq: v.number(),
  start: quantity(frames),
  frames: quantity(frames),
  channels: v.number(),
  samples: v.instance(ArrayBuffer),
}) satisfies v.GenericSchema<unknown, ChunkRow>;

/** One channel's samples over a range, with zeros where `missing` frames were never recorded. */
export interface Range {
  readonly samples: Float32Array<ArrayBuffer>;
  readonly missing: Frames;
}

/**
 * A chunk as it is stored, copied at once: the caller's arrays are free as soon as this returns.
 * @throws {LibraryError} without channels or frames, or for channels of unequal length.
 */
export function packChunk({ recording, seq, start, audio }: RecordingChunk): ChunkRow {
  const length = audio[0]?.length ?? 0;
  expectThat(length > 0, 'Got a chunk without a frame when expected one or more.');
  expectThat(
    audio.every((channel) => channel.length === length),
    `Got channels of ${audio.map((channel) => channel.length).join(', ')} frames when expected equal lengths.`,
  );
  const samples = new Float32Array(audio.length * length);
  audio.forEach((channel, index) => {
    samples.set(channel, index * length);
  });
  return { recording, seq, start, frames: frames(length), channels: audio.length, samples: samples.buffer };
}

/** Whether a stored row is the same chunk, bit for bit. */
export function isSameChunk(chunk: ChunkRow, stored: unknown): boolean {
  const parsed = v.safeParse(chunkSchema, stored);
  if (!parsed.success) return false;
  const { samples, ...place } = parsed.output;
  const { samples: expected, ...expectedPlace } = chunk;
  const isSamePlace = (Object.keys(place) as (keyof typeof place)[]).every((key) => place[key] === expectedPlace[key]);
  if (!isSamePlace || samples.byteLength !== expected.byteLength) return false;
  const bits = new Uint8Array(expected);
  return new Uint8Array(samples).every((byte, index) => byte === bits[index]);
}

/**
 * Frames [start, start + count) of one channel, out of stored chunks in order of their start. A chunk that is not what
 * it says (wrong length, wrong form) counts as missing, and so does what no chunk covers.
 * @throws {LibraryError} for a negative count.
 */
export function assemble(rows: readonly unknown[], channel: number, start: Frames, count: Frames): Range {
  expectThat(count >= 0, `Got ${count} frames to read when expected 0 or more.`);
  const samples = new Float32Array(count);
  let missing = 0;
  /** Frames of the range that are dealt with. */
  let done = 0;
  for (const row of rows) {
    const chunk = soundChunk(row, channel);
    if (chunk === null) continue;
    const from = Math.max(chunk.start - start, done);
    const to = Math.min(chunk.start + chunk.frames - start, count);
    if (to <= from) continue;
    const skipped = start + from - chunk.start;
    samples.set(new Float32Array(chunk.samples, (channel * chunk.frames + skipped) * BYTES, to - from), from);
    missing += from - done;
    done = to;
  }
  return { samples, missing: frames(missing + count - done) };
}

function soundChunk(row: unknown, channel: number): ChunkRow | null {
  const parsed = v.safeParse(chunkSchema, row);
  if (!parsed.success) return null;
  const chunk = parsed.output;
  const whole = chunk.samples.byteLength === chunk.frames * chunk.channels * BYTES;
  return whole && channel < chunk.channels ? chunk : null;
}
