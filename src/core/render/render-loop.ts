/**
 * Layers into one loop, at rest: what the mixer makes of them once round when every tail that rings over the line is in.
 * Nothing comes after the mixer, neither click nor limiter, so that a blend is the sum of its layers and no more. Pure;
 * any thread, not in `process`.
 */
import type { Program } from '../program/program.js';
import { voiceCount } from '../program/program.js';
import type { Frames, SampleRate } from '../units/index.js';
import { AudioStore } from './audio-store.js';
import { MIX_FRAMES, Mixer } from './mixer.js';
import { CHUNK_FRAMES, ChunkPool, SLAB_BYTES, SLAB_CHUNKS, SLAB_FRAMES } from './pool.js';
import { VoiceRow } from './voice-iterations.js';

/** A part of one channel of the audio that a program names. */
export interface LoopAudio {
  readonly audio: number;
  readonly channel: number;
  /** Of the first sample, in frames of the audio. */
  readonly start: number;
  readonly samples: Float32Array;
}

/** Programs are added one after another, so that only the audio of one of them has to be in memory. */
export class LoopRender {
  readonly #rate: SampleRate;
  readonly #left: Float64Array;
  readonly #right: Float64Array;

  /** @param length a whole number of rounds of every voice that will be added. */
  constructor(length: Frames, rate: SampleRate) {
    this.#rate = rate;
    this.#left = new Float64Array(length);
    this.#right = new Float64Array(length);
  }

  /**
   * Adds the voices of a program: in doubles and in order, as the mixer adds them when they are in one program.
   * @throws {RangeError} for voices whose periods do not divide the loop, and for audio that was not given.
   */
  add(program: Program, audio: readonly LoopAudio[]): void {
    const from = this.#settledAt(program);
    const pool = poolFor(audio);
    const store = new AudioStore(pool);
    const mixer = new Mixer(pool, store, this.#rate);
    mixer.useProgram(program, { at: 0, origin: null });
    // What is rendered begins a round later at least: no lead is cut.
    mixer.startFrom(0, -Infinity);
    for (const part of audio) {
      const chunks = Math.ceil((part.start + part.samples.length) / CHUNK_FRAMES);
      store.known(part.audio, part.channel, chunks).write(part.start, part.samples, 0, part.samples.length);
    }
    let missing = 0;
    for (let at = 0; at < this.#left.length; at += MIX_FRAMES) {
      const end = Math.min(this.#left.length, at + MIX_FRAMES);
      missing += mixer.render(from + at, end - at, this.#left.subarray(at, end), this.#right.subarray(at, end));
    }
    if (missing > 0) throw new RangeError(`Got a loop that lacks ${missing} frames of audio when expected it whole.`);
  }

  /** The loop. Strips place nothing to one side yet, so that left is all there is. */
  get samples(): Float32Array<ArrayBuffer> {
    return Float32Array.from(this.#left);
  }

  /** The first round in which nothing is missing that began before it. */
  #settledAt(program: Program): number {
    const length = this.#left.length;
    const row = new VoiceRow();
    let rounds = 1;
    for (let voice = 0; voice < voiceCount(program); voice++) {
      row.read(program.voices, voice);
      if (length % row.period !== 0) {
        throw new RangeError(`Got a period of ${row.period} frames when expected one that divides ${length}.`);
      }
      rounds = Math.max(rounds, Math.ceil((row.start + row.bodyFrames - row.period + row.tail) / length));
    }
    return rounds * length;
  }
}

function poolFor(audio: readonly LoopAudio[]): ChunkPool {
  const chunks = audio.reduce((sum, { samples }) => sum + Math.ceil(samples.length / CHUNK_FRAMES) + 1, 0);
  const slabs = Math.max(1, Math.ceil(chunks / SLAB_CHUNKS));
  const pool = new ChunkPool(slabs * SLAB_BYTES);
  for (let slab = 0; slab < slabs; slab++) pool.addSlab(new Float32Array(SLAB_FRAMES));
  return pool;
}
