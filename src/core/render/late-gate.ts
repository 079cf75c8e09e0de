/**
 * What a voice sounds like where its audio is late: it fades to silence before the first frame that is missing and back
 * in after the last, so that nothing clicks. Its gain is the lesser of two straight lines over the engine's frames, one
 * rising from where audio came back, one falling to where it ends: two numbers are all its state. Audio thread;
 * allocates in the constructor only.
 */
import type { AudioChannel } from './audio-store.js';
import type { Sounding } from './needs.js';
import { firstMissing, firstPresent } from './needs.js';
import { CHUNK_FRAMES } from './pool.js';

/** Length of both fades: 4 ms at 48 kHz. Own choice: shorter is heard as a click in low notes, longer costs more music. */
export const LATE_FADE_FRAMES = 192;
/** How far ahead a voice's audio is looked for at a time. What was found stays: it will sound soon. */
const LOOK_FRAMES = CHUNK_FRAMES;

/** The voice behind the gate. Its song position 0 is engine frame `origin`. */
interface Gated extends Sounding {
  readonly audio: AudioChannel | undefined;
  readonly origin: number;
}

export class LateGate {
  /** Engine frame at which it began to rise. */
  #rises = -Infinity;
  /** Engine frame at which it is down. */
  #down = Infinity;
  /** Engine frame before which nothing is missing. */
  #hereUntil = -Infinity;

  /** Open, and nothing is known of what is here. */
  reset(): void {
    this.#rises = -Infinity;
    this.#down = Infinity;
    this.#hereUntil = -Infinity;
  }

  /** The voice plays something else: what is here must be looked up anew. */
  lookAgain(): void {
    this.#hereUntil = -Infinity;
  }

  /** Whether all of engine frames [frame, frame + count) is here and sounds unfaded, as far as was looked. */
  isOpen(frame: number, count: number): boolean {
    return frame + count + LATE_FADE_FRAMES <= this.#hereUntil && frame >= this.#rises + LATE_FADE_FRAMES;
  }

  /** Looks what is here. Call before every block that sounds; most of the time it knows already. */
  follow(voice: Gated, frame: number, count: number): void {
    if (voice.audio === undefined || frame + count + LATE_FADE_FRAMES <= this.#hereUntil) return;
    const end = frame + LOOK_FRAMES;
    let missing = missingFrom(voice, voice.audio, frame, end);
    if (missing > frame) {
      if (this.#down < missing) this.#riseFrom(frame);
    } else {
      this.#down = Math.min(this.#down, frame);
      const back = presentFrom(voice, voice.audio, frame, frame + count);
      if (back >= frame + count) return;
      this.#rises = back;
      this.#down = Infinity;
      missing = missingFrom(voice, voice.audio, back, end);
    }
    this.#hereUntil = missing;
    if (missing < end) this.#down = missing;
  }

  /** Fades samples in place; the first belongs to an engine frame. */
  apply(samples: Float64Array, frame: number, count: number): void {
    for (let i = 0; i < count; i++) samples[i] = (samples[i] ?? 0) * this.#at(frame + i);
  }

  /** The audio has come while it was falling, or down: it rises from wherever it is. */
  #riseFrom(frame: number): void {
    this.#rises = frame - LATE_FADE_FRAMES * this.#at(frame);
    this.#down = Infinity;
  }

  #at(frame: number): number {
    const rising = (frame - this.#rises) / LATE_FADE_FRAMES;
    const falling = (this.#down - frame) / LATE_FADE_FRAMES;
    return Math.max(0, Math.min(1, rising, falling));
  }
}

function missingFrom(voice: Gated, audio: AudioChannel, begin: number, end: number): number {
  return voice.origin + firstMissing(voice, audio, begin - voice.origin, end - voice.origin);
}

function presentFrom(voice: Gated, audio: AudioChannel, begin: number, end: number): number {
  return voice.origin + firstPresent(voice, audio, begin - voice.origin, end - voice.origin);
}
