/** A watch whose clocks are told what to show: no noise, so that a test says what happens and nothing else does. */
import { RoundTripWatch } from '../../src/core/watch/round-trip-watch.js';
import type { WatchSetup } from '../../src/core/watch/history.js';
import type { Break, Measurement } from '../../src/core/watch/observations.js';
import { frames, milliseconds, sampleRate } from '../../src/core/units/index.js';

export const RATE = 48_000;
const PER_MS = RATE / 1000;
export const ROUND_TRIP = 5000;

export const setupOf = (changes: Partial<WatchSetup> = {}): WatchSetup => ({
  sampleRate: sampleRate(RATE),
  baseLatency: frames(480),
  expectedRoundTrip: frames(4000),
  capture: 'track',
  openedAt: frames(0),
  bridged: milliseconds(0),
  ...changes,
});

/** A gap: when the late call came, after how long a pause, and how many frames of silence that made. */
export interface PlainGap {
  readonly endsMs: number;
  readonly pauseMs: number;
  readonly frames: number;
  /** What the mean of the calls shows, where it shows something else. */
  readonly byCalls?: number;
}

/** Without gaps, mix frame n is rendered at n / 48 ms. */
export class PlainClocks {
  readonly watch: RoundTripWatch;
  readonly #gaps: readonly PlainGap[];
  #now = 0;

  constructor(gaps: readonly PlainGap[] = [], changes: Partial<WatchSetup> = {}) {
    this.watch = new RoundTripWatch(setupOf(changes));
    this.#gaps = gaps;
  }

  /** The mix frame of the block after a gap. */
  frameOf(gap: PlainGap): number {
    return Math.round(gap.endsMs * PER_MS - this.#lag(gap.endsMs, ({ frames }) => frames));
  }

  /** Lets time pass; the clocks are read only where `reading`. */
  runTo(ms: number, reading = true): this {
    for (; this.#now < ms; this.#now += 5) {
      const now = this.#now;
      for (const gap of this.#gaps) {
        if (gap.endsMs <= now - 5 || gap.endsMs > now) continue;
        const at = { at: frames(this.frameOf(gap)), endedAt: milliseconds(gap.endsMs) };
        this.watch.observe({ type: 'call-pause', milliseconds: milliseconds(gap.pauseMs), ...at });
      }
      if (!reading) continue;
      if (now % 25 === 0) {
        const heard = now * PER_MS - 1400 - this.#lag(now - 20, ({ frames }) => frames);
        this.watch.observe({ type: 'output-clock', at: milliseconds(now), heard });
      }
      if (now % 20 === 0) {
        const behind = this.#lag(now, ({ frames, byCalls }) => byCalls ?? frames);
        this.watch.observe({ type: 'call-phase', at: milliseconds(now), behind });
      }
    }
    return this;
  }

  /** A measurement of a second from a capture frame on. */
  measure(seconds: number, roundTrip = ROUND_TRIP): this {
    this.watch.observe(measurementAt(seconds, roundTrip));
    return this;
  }

  break(kind: Break['kind'], seconds: number): this {
    this.watch.observe({ type: 'break', kind, at: frames(seconds * RATE) });
    return this;
  }

  #lag(ms: number, of: (gap: PlainGap) => number): number {
    return this.#gaps.filter(({ endsMs }) => endsMs <= ms).reduce((sum, gap) => sum + of(gap), 0);
  }
}

export const measurementAt = (seconds: number, roundTrip = ROUND_TRIP): Measurement => ({
  type: 'measurement',
  from: frames(Math.round(seconds * RATE)),
  to: frames(Math.round((seconds + 1) * RATE)),
  roundTrip: frames(roundTrip),
  how: 'measured',
});
