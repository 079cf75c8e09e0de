/**
 * Says of every 50 ms whether what sounded was one narrow tone, which, and how loud. The zero crossings of one window
 * give the frequency that it would have if it were a single tone; the next window asks how much of its energy lies
 * there, in stretches of four periods. Measured: 1 for a sine, from 0.99 on for a whistle, at most 0.13 for white noise,
 * 0.01 to 0.6 for sung vowels. Where the sound is anything else than one tone, the crossings name no frequency that holds
 * its energy, so the answer is low by itself.
 *
 * Own choice, for its price: a bank of filters or a transform would tell several tones apart, but only the one that
 * drowns everything else matters here. Four periods, so that the band is about an eighth to either side: feedback over
 * a long delay is a bundle of tones that close together, and two notes of a voice are further apart.
 */
import type { SampleRate } from '../units/index.js';

/** A window is ten times a whole number of frames, 5 ms each. */
const STEP_SECONDS = 0.005;
const STEPS = 10;
const PERIODS = 4;
/** Keeps out offsets and most of the hum. */
const HIGH_PASS_HZ = 100;
/** Crossings count from this part of the last window's level on: noise under a tone adds none. */
const HYSTERESIS = 0.3;
/** Under −500 dB a decaying filter is at rest. */
const AT_REST = 1e-25;

/** Audio thread; allocates nothing. Takes in finite samples one by one, so any split into blocks gives the same. */
export class ToneWatch {
  /** Frames of a window. */
  readonly window: number;
  readonly #rate: number;
  readonly #pole: number;
  #before = 0;
  #filtered = 0;

  #frame = 0;
  #energy = 0;
  #peak = 0;
  /** Energy at the frequency, over the stretches that are over, and what the present one has summed up. */
  #atTone = 0;
  #real = 0;
  #imaginary = 0;
  #stretch = 1;
  #stretchEnds = 1;
  #cosine = 1;
  #sine = 0;
  #turnCosine = 1;
  #turnSine = 0;
  #threshold = 0;
  #above = false;
  #crossings = 0;
  #firstCrossing = 0;
  #lastCrossing = 0;

  /** Mean square of the last window, without what lies under 100 Hz. */
  power = 0;
  /** Part of its energy in the narrow band, 0 … 1. */
  narrowness = 0;
  /** Frequency of its zero crossings; 0 where there were too few. */
  hertz = 0;
  /** Highest magnitude in it. */
  peak = 0;

  constructor(rate: SampleRate) {
    this.#rate = rate;
    this.window = STEPS * Math.round(STEP_SECONDS * rate);
    this.#pole = rate / (rate + 2 * Math.PI * HIGH_PASS_HZ);
    this.#listenAt(0);
  }

  /** Takes in a sample. @returns whether it ended a window. */
  push(sample: number): boolean {
    const last = this.#filtered;
    const next = this.#pole * (last + sample - this.#before);
    const now = next < AT_REST && next > -AT_REST ? 0 : next;
    this.#before = sample;
    this.#filtered = now;
    this.#energy += now * now;
    if (sample > this.#peak) this.#peak = sample;
    else if (-sample > this.#peak) this.#peak = -sample;
    this.#countCrossing(last, now);
    this.#real += now * this.#cosine;
    this.#imaginary += now * this.#sine;
    const cosine = this.#cosine * this.#turnCosine - this.#sine * this.#turnSine;
    this.#sine = this.#cosine * this.#turnSine + this.#sine * this.#turnCosine;
    this.#cosine = cosine;
    this.#frame++;
    if (this.#frame >= this.#stretchEnds) this.#endStretch();
    if (this.#frame < this.window) return false;
    this.#endWindow();
    return true;
  }

  /** As new. */
  reset(): void {
    this.#before = 0;
    this.#filtered = 0;
    this.#threshold = 0;
    this.#above = false;
    this.#beginWindow();
    this.#listenAt(0);
  }

  /** Upwards through the threshold, after it has been under its negative; the time between two samples is a straight line's. */
  #countCrossing(last: number, now: number): void {
    const threshold = this.#threshold;
    if (this.#above) {
      if (now < -threshold) this.#above = false;
      return;
    }
    if (now <= threshold) return;
    this.#above = true;
    const at = this.#frame - (now - threshold) / (now - last);
    if (this.#crossings === 0) this.#firstCrossing = at;
    this.#lastCrossing = at;
    this.#crossings++;
  }

  #endStretch(): void {
    this.#atTone += (2 * (this.#real * this.#real + this.#imaginary * this.#imaginary)) / this.#stretch;
    this.#real = 0;
    this.#imaginary = 0;
    this.#stretchEnds += this.#stretch;
  }

  #endWindow(): void {
    const span = this.#lastCrossing - this.#firstCrossing;
    this.power = this.#energy / this.window;
    this.narrowness = this.#energy > 0 ? Math.min(1, this.#atTone / this.#energy) : 0;
    this.hertz = this.#crossings > 2 && span > 0 ? ((this.#crossings - 1) * this.#rate) / span : 0;
    this.peak = this.#peak;
    this.#threshold = HYSTERESIS * Math.sqrt(this.power);
    this.#beginWindow();
    this.#listenAt(this.hertz);
  }

  #beginWindow(): void {
    this.#frame = 0;
    this.#energy = 0;
    this.#peak = 0;
    this.#atTone = 0;
    this.#real = 0;
    this.#imaginary = 0;
    this.#cosine = 1;
    this.#sine = 0;
    this.#crossings = 0;
    this.#firstCrossing = 0;
    this.#lastCrossing = 0;
  }

  /** Divides the next window into stretches of four periods or a little more. */
  #listenAt(hertz: number): void {
    const turn = (2 * Math.PI * hertz) / this.#rate;
    this.#turnCosine = Math.cos(turn);
    this.#turnSine = Math.sin(turn);
    const stretches = Math.max(1, Math.floor((this.window * hertz) / (this.#rate * PERIODS)));
    this.#stretch = this.window / stretches;
    this.#stretchEnds = this.#stretch;
  }
}
