/** What the ring held, kept while nothing played: the last phrase of it becomes an idea once it has come in. */
import { PhraseFinder } from '../core/listen/phrase.js';
import type { Phrase } from '../core/listen/phrase.js';
import type { EngineReport } from '../core/render/commands.js';
import type { SampleRate } from '../core/units/index.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** A phrase and the channels on which something is to be heard of it. */
export interface KeptPhrase {
  readonly phrase: Phrase;
  readonly channels: readonly number[];
}

interface Coming {
  readonly channels: readonly number[];
  /** One for all channels together, then one for each. */
  readonly together: PhraseFinder;
  readonly alone: readonly PhraseFinder[];
}

export class KeptPast {
  readonly #rate: SampleRate;
  readonly #coming = new Map<number, Coming>();

  constructor(rate: SampleRate) {
    this.#rate = rate;
  }

  begun({ audio, channels }: Report<'past-kept'>): void {
    const together = new PhraseFinder(this.#rate);
    this.#coming.set(audio, { channels, together, alone: channels.map(() => new PhraseFinder(this.#rate)) });
  }

  captured({ audio, buffer, frames: count }: Report<'captured'>): void {
    const coming = this.#coming.get(audio);
    if (coming === undefined) return;
    const sum = new Float32Array(count);
    coming.channels.forEach((channel, index) => {
      const samples = buffer.subarray(channel * count, (channel + 1) * count);
      coming.alone[index]?.add(samples);
      samples.forEach((sample, i) => (sum[i] = (sum[i] ?? 0) + sample));
    });
    coming.together.add(sum);
  }

  /** @returns the last phrase; null where nothing was heard. Undefined where the recording is none of the past. */
  ended({ audio }: Report<'recording-ended'>): KeptPhrase | null | undefined {
    const coming = this.#coming.get(audio);
    if (coming === undefined) return undefined;
    this.#coming.delete(audio);
    return phraseOf(coming);
  }

  /** Nothing more comes in. @returns for each recording of the past that had not ended, as `ended`. */
  endAll(): readonly (readonly [audio: number, kept: KeptPhrase | null])[] {
    const all = [...this.#coming].map(([audio, coming]) => [audio, phraseOf(coming)] as const);
    this.#coming.clear();
    return all;
  }
}

function phraseOf({ channels, together, alone }: Coming): KeptPhrase | null {
  const phrase = together.last();
  return phrase === null ? null : { phrase, channels: channels.filter((_, index) => alone[index]?.last() !== null) };
}
