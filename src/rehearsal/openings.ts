/**
 * How passes open, heard while they come in and told to the engine before their closing lines, so that the first repeat
 * begins as every later one does. The engine could not listen for itself (in `process` nothing may take so long), and
 * need not: everything before the opening line has come in a round trip after it, long before the closing line. Where a
 * loop is so short, or closed so late, that it has not, the first repeat begins with a plain crossfade.
 */
import type { EngineCommand, EngineReport } from '../core/render/commands.js';
import { leadHeard } from '../core/seam/lead.js';
import type { HeardOpening } from '../core/seam/opening.js';
import { OPENING_SECONDS, hearOpening, openingSeam } from '../core/seam/opening.js';
import type { Seam } from '../core/seam/seam.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import { RecentSound } from './recent-sound.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** From so much of a body on, an early attack is surely heard; the rest of OPENING_SECONDS may say it better. */
const FIRST_SECONDS = 0.06;
/** What is held beyond leads: the latest press that still begins a pass, and what is on its way. */
const HELD_SECONDS = 4;

/** One channel of a pass that is coming in. */
interface Coming {
  readonly pass: number;
  readonly voice: number;
  readonly audio: number;
  readonly channel: number;
  readonly beatFrames: Frames;
  /** Capture frame of its opening line. */
  readonly line: number;
  heard: HeardOpening | null;
  /** Frames of its body that were known when it was listened to last. */
  heardOf: number;
  /** Capture frame up to which the body was measured, and its sum of squares. */
  measured: number;
  squares: number;
  opening: Seam | null;
}

/** What has come in of a recording lately, channel by channel. */
interface Held {
  readonly starts: number;
  readonly channels: Map<number, RecentSound>;
}

export class Openings {
  readonly #rate: SampleRate;
  readonly #send: (command: EngineCommand) => void;
  readonly #starts = new Map<number, number>();
  readonly #held = new Map<number, Held>();
  #coming: Coming[] = [];

  constructor(rate: SampleRate, send: (command: EngineCommand) => void) {
    this.#rate = rate;
    this.#send = send;
  }

  started({ audio, at }: Report<'recording-started'>): void {
    this.#starts.set(audio, at);
  }

  /** @param beatFrames a felt beat of the bar in which the pass begins. */
  begun({ pass, at, audio, channels, roundTrip }: Report<'pass-begun'>, beatFrames: Frames): void {
    const held = this.#heldOf(audio);
    const length = leadHeard(beatFrames, this.#rate) + Math.ceil(HELD_SECONDS * this.#rate);
    const line = at + roundTrip.frames;
    channels.forEach((channel, part) => {
      if (!held.channels.has(channel)) held.channels.set(channel, new RecentSound(length));
      this.#coming.push({
        ...{ pass, voice: pass + part, audio, channel, beatFrames, line },
        ...{ heard: null, heardOf: 0, measured: line, squares: 0, opening: null },
      });
    });
    this.#listen(audio);
  }

  captured({ audio, start, buffer, frames: count }: Report<'captured'>): void {
    const held = this.#held.get(audio);
    if (held === undefined) return;
    for (const [channel, recent] of held.channels) recent.add(held.starts + start, buffer, count, [channel]);
    this.#listen(audio);
  }

  ended({ audio }: Report<'recording-ended'>): void {
    this.#starts.delete(audio);
    this.#held.delete(audio);
    this.#coming = this.#coming.filter((coming) => coming.audio !== audio);
  }

  /** A pass is whole, or will never be. @returns how its voices open, in order; null where that was not heard. */
  take(pass: number): readonly (Seam | null)[] {
    const openings = this.#coming.filter((coming) => coming.pass === pass).map(({ opening }) => opening);
    this.#coming = this.#coming.filter((coming) => coming.pass !== pass);
    return openings;
  }

  #heldOf(audio: number): Held {
    const held = this.#held.get(audio) ?? { starts: this.#starts.get(audio) ?? 0, channels: new Map() };
    this.#held.set(audio, held);
    return held;
  }

  #listen(audio: number): void {
    for (const coming of this.#coming) {
      const held = coming.audio === audio ? this.#held.get(audio) : undefined;
      const recent = held?.channels.get(coming.channel);
      if (held === undefined || recent === undefined || recent.end <= coming.line) continue;
      this.#hear(coming, recent, held.starts);
      measure(coming, recent);
      if (coming.heard === null) continue;
      this.#tell(coming, openingSeam(coming.heard, Math.sqrt(coming.squares / (coming.measured - coming.line))));
    }
  }

  /** Once enough of its body is there, and again when all is that can say more. */
  #hear(coming: Coming, recent: RecentSound, starts: number): void {
    const enough = Math.round(OPENING_SECONDS * this.#rate);
    const known = Math.min(recent.end - coming.line, enough);
    if (known < FIRST_SECONDS * this.#rate || known <= coming.heardOf) return;
    const from = Math.max(starts, coming.line - leadHeard(coming.beatFrames, this.#rate));
    const { at, samples } = recent.read(from, coming.line + known);
    coming.heardOf = enough;
    // What came before it is held no longer: it was begun in the past.
    if (at > from) return;
    coming.heardOf = known;
    coming.heard = hearOpening(samples, coming.line - at, coming.beatFrames, this.#rate);
  }

  #tell(coming: Coming, opening: Seam): void {
    const before = coming.opening;
    if (before !== null && isSame(before, opening)) return;
    coming.opening = opening;
    this.#send({ type: 'set-opening', voice: coming.voice, opening });
  }
}

/** How loud the body is, as far as it has come in. */
function measure(coming: Coming, recent: RecentSound): void {
  for (const sample of recent.read(coming.measured, recent.end).samples) coming.squares += sample * sample;
  coming.measured = recent.end;
}

const isSame = (a: Seam, b: Seam): boolean => JSON.stringify(a) === JSON.stringify(b);
