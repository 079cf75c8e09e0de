/**
 * Hears feedback coming: the monitored input goes out, comes back into the microphone louder than it was, and grows
 * until it howls. Two signs of it, from windows of 50 ms (tone-watch.ts):
 *
 * - *It grows:* one narrow tone, five windows or longer, 24 dB up, never more than 2 dB down again, and the second half
 *   of the way up about as steep in decibels as the first. Feedback grows by the same factor on every round trip. A
 *   player's note does not: attacks and swells are steep at first and then flatten, and few swell by 24 dB.
 * - *It stands at the ceiling:* it is so loud that the monitor alone fills the foldback, at one pitch, for 0.3 s where it
 *   is a narrow tone, for 2 s or more where it is a band. Feedback that grew too fast to be seen growing ends there.
 *
 * That is a suspicion, and the monitor is silenced at once. Whether it was feedback shows by itself: then the tone ends
 * a round trip later. If it goes on, it was played, and the monitor comes back.
 *
 * Narrowness, persistence and an even slope in decibels are the usual signs of howling (van Waterschoot and Moonen, "Fifty
 * years of acoustic feedback control", Proc. IEEE 99, 2011; from memory); figures, and the check by silence, are own
 * choices. Measured in tests/core/render/howl-table.test.ts.
 */
import type { Frames, SampleRate } from '../units/index.js';
import { frames } from '../units/index.js';
import { ToneWatch } from './tone-watch.js';

/** What to do about the sample that was just taken in. */
export type HowlVerdict = 'nothing' | 'silence' | 'sound-again' | 'howl';

const NARROW = 0.7;
/** White noise has up to 0.13. */
const BROAD = 0.25;
/** Lower tones don't howl through what a player monitors with; bass notes are pure enough to be taken for it. */
const LOWEST_HERTZ = 120;
/** Part by which a tone may move from window to window: a semitone. */
const SAME_TONE = 0.06;
const SAME_PITCH = 0.15;

const decibels = (value: number): number => 10 ** (value / 10);
const RISE = decibels(24);
const DIP = decibels(2);
const LEAST_WINDOWS = 5;
/** Decibels of the second half of a rise, as a part of the first half's. A swell by the cube of time has 0.64. */
const EVENNESS = 0.7;
/** What has not come up to here is not taken for anything. */
const AUDIBLE = decibels(-51);
/** Windows that are looked back on: 4.8 s. */
const HISTORY = 96;

/** Just over −1 dBFS: the limiter's ceiling. */
const CEILING = 0.89;
const STANDS = 40;
/** A narrow window counts as so many others, and one that is not at the ceiling takes as many away. */
const NARROW_COUNTS = 7;

/** The browser's figures for the round trip are up to 45 ms short, and a room takes its time to fall silent. */
const CHECK_SECONDS = 0.25;
const ENDED = decibels(-10);
/** After a false suspicion: so long, and as long as the tone lasts, nothing is suspected. 2 s. */
const REST_WINDOWS = 40;

/** Audio thread; allocates in the constructor only. */
export class HowlGuard {
  readonly #watch: ToneWatch;
  readonly #checkFrames: number;
  /** Mean squares of the last windows, the newest at `#windows − 1`, round and round. */
  readonly #powers = new Float64Array(HISTORY);
  #windows = 0;
  #checkWindows = 1;
  #state: 'watching' | 'checking' | 'resting' | 'howling' = 'watching';
  /** Windows that the state goes on for. */
  #left = 0;
  #suspected = 0;
  #run = 0;
  #standing = 0;
  #pitch = 0;

  constructor(rate: SampleRate) {
    this.#watch = new ToneWatch(rate);
    this.#checkFrames = CHECK_SECONDS * rate;
    this.setRoundTrip(frames(0));
  }

  /** Frames from the output to the input. */
  setRoundTrip(roundTrip: Frames): void {
    this.#checkWindows = Math.ceil((Math.max(0, roundTrip) + this.#checkFrames) / this.#watch.window);
  }

  /** Takes in a sample of the input at the level at which it is monitored, whether it sounds or is silenced. */
  push(sample: number): HowlVerdict {
    if (!this.#watch.push(sample)) return 'nothing';
    this.#powers[this.#windows % HISTORY] = this.#watch.power;
    this.#windows++;
    switch (this.#state) {
      case 'checking':
        return this.#check();
      case 'howling':
        return 'nothing';
      case 'resting':
        this.#rest();
        return 'nothing';
      case 'watching':
        this.#follow();
        return this.#standing >= STANDS || this.#grows() ? this.#suspect() : 'nothing';
    }
  }

  /** As new, but for the round trip. */
  reset(): void {
    this.#watch.reset();
    this.#powers.fill(0);
    this.#windows = 0;
    this.#state = 'watching';
    this.#forget();
  }

  /** Counts for how long there has been one tone, and for how long it has stood at the ceiling. */
  #follow(): void {
    const { hertz, narrowness, peak } = this.#watch;
    const moved = Math.abs(hertz - this.#pitch);
    const narrow = narrowness >= NARROW && hertz >= LOWEST_HERTZ;
    if (!narrow) this.#run = 0;
    else if (moved <= SAME_TONE * this.#pitch) this.#run++;
    else this.#run = 1;
    const stands = peak >= CEILING && hertz >= LOWEST_HERTZ && moved <= SAME_PITCH * this.#pitch;
    const counts = narrow ? NARROW_COUNTS : narrowness >= BROAD ? 1 : 0;
    this.#standing = Math.max(0, this.#standing + (stands ? counts : -NARROW_COUNTS));
    this.#pitch = moved <= SAME_PITCH * this.#pitch ? this.#pitch + (hertz - this.#pitch) / 4 : hertz;
  }

  #grows(): boolean {
    const now = this.#power(0);
    if (now < AUDIBLE) return false;
    let lowest = now;
    const longest = Math.min(this.#run, HISTORY);
    for (let back = 1; back < longest; back++) {
      const then = this.#power(back);
      if (then > lowest * DIP) return false;
      lowest = Math.min(lowest, then);
      if (back < LEAST_WINDOWS || now < then * RISE) continue;
      const middle = Math.sqrt(this.#power(back >> 1) * this.#power(back - (back >> 1)));
      return Math.log(now / middle) >= EVENNESS * Math.log(middle / then);
    }
    return false;
  }

  #suspect(): HowlVerdict {
    this.#state = 'checking';
    this.#left = this.#checkWindows;
    this.#suspected = this.#watch.power;
    return 'silence';
  }

  #check(): HowlVerdict {
    if (--this.#left > 0) return 'nothing';
    if (this.#watch.power <= this.#suspected * ENDED) {
      this.#state = 'howling';
      return 'howl';
    }
    this.#state = 'resting';
    this.#left = REST_WINDOWS;
    this.#pitch = this.#watch.hertz;
    this.#suspected = this.#watch.power;
    return 'sound-again';
  }

  #rest(): void {
    const { hertz, power } = this.#watch;
    const goesOn = Math.abs(hertz - this.#pitch) <= SAME_PITCH * this.#pitch && power > this.#suspected * ENDED;
    if (goesOn) this.#pitch = hertz;
    if (--this.#left > 0 || goesOn) return;
    this.#state = 'watching';
    this.#forget();
  }

  #forget(): void {
    this.#run = 0;
    this.#standing = 0;
    this.#pitch = 0;
  }

  /** Of the window that ended `back` windows ago. */
  #power(back: number): number {
    return this.#powers[(this.#windows + HISTORY - 1 - back) % HISTORY] ?? 0;
  }
}
