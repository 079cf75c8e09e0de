/**
 * How long recordings go on: whoever makes something of one holds it, without end or up to a capture frame. It ends where
 * the last of them needs it, and at once where a pass is let go that alone held it on. Audio thread; runs while commands
 * are handled and lines are closed.
 */
import type { Recorder } from './recorder.js';

export interface Hold {
  readonly audio: number;
  /** Capture frame up to which the recording is needed; Infinity while that is open. */
  until: number;
}

export class Holds {
  readonly #recorder: Recorder;
  #held: Hold[] = [];

  constructor(recorder: Recorder) {
    this.#recorder = recorder;
  }

  /** Holds a recording without end. */
  take(audio: number): Hold {
    const hold = { audio, until: Infinity };
    this.#held = [...this.#held.filter(({ until }) => until > this.#recorder.due), hold];
    return hold;
  }

  /** It is needed up to a capture frame, and no longer. */
  need(hold: Hold, until: number): void {
    hold.until = until;
    this.#end(hold.audio, until);
  }

  /** It is not needed any more: where nobody else needs it, it ends at a capture frame. */
  letGo(hold: Hold, at: number): void {
    this.#held = this.#held.filter((each) => each !== hold);
    this.#end(hold.audio, at);
  }

  #end(audio: number, at: number): void {
    const ends = this.#held.reduce((last, hold) => (hold.audio === audio ? Math.max(last, hold.until) : last), at);
    if (ends < Infinity) this.#recorder.endAt(audio, ends);
  }
}
