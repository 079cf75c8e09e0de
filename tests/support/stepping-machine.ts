/**
 * A machine whose round trip steps, and what can be seen of it: bursts of calls by a clock of whole milliseconds, an
 * output that falls silent when a call comes too late, an output clock that wanders, an input queue that inserts silence
 * and overflows. It knows the truth. How it behaves is after measurements on one machine (48 kHz, Chromium); how often
 * things happen is our own choice.
 */
import type { CaptureKind, WatchSetup } from '../../src/core/watch/history.js';
import type { Measurement, Observation } from '../../src/core/watch/observations.js';
import { frames, milliseconds, sampleRate } from '../../src/core/units/index.js';
import { seededNoise } from './tones.js';

export const RATE = 48_000;
const PER_MS = RATE / 1000;
const SHOT_FRAMES = 1.2 * RATE;
const QUEUE_PIECE = 1024;

export interface MachineOptions {
  readonly seed: number;
  readonly seconds: number;
  readonly capture: CaptureKind;
  /** Frames of a burst. */
  readonly baseLatency?: number;
  /** So late a call may come before the output falls silent. */
  readonly bridgedMs?: number;
  readonly stallsPerMinute?: number;
  /** What the watch is told of that, in pauses; 0 unless given. */
  readonly trustedMs?: number;
  /** Shortest and longest. */
  readonly stallMs?: readonly [number, number];
  /** Of the input, whenever it likes. */
  readonly zerosPerMinute?: number;
  readonly dropsPerMinute?: number;
  /** Frames that the input's queue holds before it drops; endless unless given. */
  readonly queueHolds?: number;
  /** Gaps that come without a late call, and how long they are at most, in frames. */
  readonly unseenPerMinute?: number;
  readonly unseenFrames?: number;
  /** Frames by which the output's clock wanders. */
  readonly wander?: number;
  /** Seconds at which a check is made. */
  readonly checksAt?: readonly number[];
  /** The context's frame count freezes, again and again. */
  readonly storms?: boolean;
  /** Parts in a million between the two clocks. */
  readonly driftPpm?: number;
}

interface Step {
  readonly at: number;
  readonly frames: number;
}

interface Arrival {
  readonly at: number;
  readonly observation: Observation;
}

export class SteppingMachine {
  readonly setup: WatchSetup;
  readonly measurements: Measurement[] = [];
  /** Mix frames that were rendered in all. */
  rendered = 0;
  readonly #options: Required<MachineOptions>;
  readonly #noise: () => number;
  readonly #arrivals: Arrival[] = [];
  /** By mix frame, then by capture frame. */
  readonly outputSteps: Step[] = [];
  readonly inputSteps: Step[] = [];
  readonly #trip: number;
  /** Moments at which the output fell behind, and by how much in all. */
  readonly #lags: { readonly at: number; readonly total: number }[] = [];
  #queue = 0;

  constructor(options: MachineOptions) {
    const { seed, baseLatency = 480, capture } = options;
    this.#options = {
      baseLatency,
      bridgedMs: 17,
      trustedMs: 0,
      stallsPerMinute: 0,
      stallMs: [18, 60],
      zerosPerMinute: 0,
      dropsPerMinute: 0,
      queueHolds: Infinity,
      unseenPerMinute: 0,
      unseenFrames: 24,
      wander: 20,
      checksAt: [],
      storms: false,
      driftPpm: 76,
      ...options,
    };
    this.#noise = seededNoise(seed);
    this.#trip = 3500 + 2 * baseLatency + Math.floor(1500 * this.#part());
    this.setup = {
      sampleRate: sampleRate(RATE),
      baseLatency: frames(baseLatency),
      expectedRoundTrip: frames(this.#trip - 900),
      capture,
      openedAt: frames(0),
      bridged: milliseconds(options.trustedMs ?? 0),
    };
    this.#call();
    this.#readClock();
    this.#readLead();
    this.inputSteps.sort((a, b) => a.at - b.at);
    for (const at of [16, ...this.#options.checksAt]) this.#measure(at * RATE);
    this.#arrivals.sort((a, b) => a.at - b.at);
  }

  /** Everything that was observed, in the order in which it became known. */
  *observations(): Generator<Observation> {
    for (const { observation } of this.#arrivals) yield observation;
  }

  /** The true round trip of a mix frame. */
  tripOf(mix: number): number {
    let capture = mix + this.#trip;
    for (const { at, frames: gap } of this.outputSteps) if (at <= mix) capture += gap;
    for (const { at, frames: shift } of this.inputSteps) {
      if (capture >= at) capture = Math.max(at, capture + shift);
    }
    return capture - mix;
  }

  /** In [0, 1). */
  #part(): number {
    return Math.min(0.999999, (this.#noise() + 1) / 2);
  }

  /** Moments of a random process, in ms. */
  #moments(perMinute: number, fromMs: number): number[] {
    const moments: number[] = [];
    if (perMinute === 0) return moments;
    const end = this.#options.seconds * 1000 - 8000;
    for (let at = fromMs; ;) {
      at -= (60_000 / perMinute) * Math.log(1 - this.#part());
      if (at >= end) return moments;
      moments.push(at);
    }
  }

  #add(at: number, observation: Observation): void {
    this.#arrivals.push({ at, observation });
  }

  /** The calls of the processor, the gaps in the output that late ones make, and the input's steps. */
  #call(): void {
    const { baseLatency, bridgedMs, stallMs, seconds, driftPpm, unseenFrames } = this.#options;
    const stalls = this.#moments(this.#options.stallsPerMinute, 2000);
    const unseen = this.#moments(this.#options.unseenPerMinute, 20_000);
    const zeros = this.#moments(this.#options.zerosPerMinute, 2000);
    const drops = this.#moments(this.#options.dropsPerMinute, 20_000);
    const burstMs = baseLatency / PER_MS / (1 + driftPpm / 1e6);
    const least = Math.max(24, (1.5 * baseLatency) / PER_MS + 8);
    let lag = 0;
    let free = 0;
    let before: number | null = null;
    let behind: number[] = [];
    for (let burst = 0; burst * burstMs < seconds * 1000; burst++) {
      const mix = burst * baseLatency;
      const due = 100 + burst * burstMs + lag / PER_MS;
      const late = this.#part() < 0.98 ? -0.3 * Math.log(1 - this.#part()) : 1.5 * this.#part();
      while ((stalls[0] ?? Infinity) < due + late) {
        free = Math.max(free, (stalls.shift() ?? 0) + stallMs[0] + (stallMs[1] - stallMs[0]) * this.#part());
      }
      const called = Math.max(due + Math.min(late, 2), free);
      const gap = Math.floor((called - due - bridgedMs) * PER_MS);
      if (gap > 0) {
        lag += gap;
        this.#gap(mix, called, lag, gap);
      }
      if ((unseen[0] ?? Infinity) < called) {
        unseen.shift();
        const silent = 1 + Math.floor(unseenFrames * this.#part());
        lag += silent;
        this.#gap(mix, called, lag, silent);
      }
      const now = Math.floor(called);
      if (before !== null && now - before >= least) {
        const pause = { at: frames(mix), milliseconds: milliseconds(now - before), endedAt: milliseconds(now) };
        this.#add(called + 20 + 300 * this.#part(), { type: 'call-pause', ...pause });
      }
      before = now;
      behind.push(now * PER_MS - mix);
      if (behind.length * baseLatency >= 900) {
        const mean = behind.reduce((sum, each) => sum + each, 0) / behind.length;
        this.#add(called + 30 * this.#part(), { type: 'call-phase', at: milliseconds(now), behind: mean });
        behind = [];
      }
      if ((zeros[0] ?? Infinity) < called) {
        zeros.shift();
        this.#shiftInput(mix, (this.#part() < 0.9 ? 1 : 2) * QUEUE_PIECE, called);
      }
      if ((drops[0] ?? Infinity) < called) {
        drops.shift();
        this.#shiftInput(mix, -1 - Math.floor(4999 * this.#part()), called);
      }
      this.rendered = mix + baseLatency;
    }
  }

  #gap(mix: number, called: number, total: number, gap: number): void {
    const { baseLatency, queueHolds } = this.#options;
    const back = this.#part() < 29 / 30 ? baseLatency : 2 * baseLatency * this.#part();
    this.outputSteps.push({ at: mix - Math.floor(back), frames: gap });
    this.#lags.push({ at: called + 45 * this.#part(), total });
    this.#queue += gap;
    if (this.#queue <= queueHolds) return;
    this.#shiftInput(mix + 128, -QUEUE_PIECE * Math.ceil((this.#queue - queueHolds) / QUEUE_PIECE), called);
  }

  #shiftInput(at: number, shift: number, called: number): void {
    const { capture } = this.#options;
    if (capture === 'track') return;
    this.#queue += shift;
    this.inputSteps.push({ at, frames: shift });
    if (shift > 0) {
      const length = shift + Math.floor(4 * this.#part());
      this.#add(called + 60, { type: 'zero-run', from: frames(at), frames: frames(length) });
    }
    if (capture !== 'processor-compared') return;
    const to = frames(at + Math.max(0, shift) + 128);
    this.#add(called + 200 + 300 * this.#part(), {
      type: 'path-shift',
      from: frames(at - 128),
      to,
      frames: frames(shift),
    });
  }

  #readClock(): void {
    const { wander, seconds, driftPpm } = this.#options;
    let slow = wander * this.#noise();
    let excursion = 0;
    let excursionEnds = 0;
    let next = 0;
    let lag = 0;
    for (let at = 150; at < seconds * 1000;) {
      const pause = 25 + 16 * this.#part();
      at += pause;
      while ((this.#lags[next]?.at ?? Infinity) <= at) lag = this.#lags[next++]?.total ?? lag;
      // Comes back to the middle within about 20 s.
      slow += (-slow * pause) / 20_000 + wander * Math.sqrt((6 * pause) / 20_000) * this.#noise();
      if (at > excursionEnds && this.#part() < pause / 15_000) {
        excursion = 4 * wander * this.#noise();
        excursionEnds = at + 60 + 150 * this.#part();
      }
      const off = slow + (at < excursionEnds ? excursion : 0) + 3 * this.#noise();
      const heard = at * PER_MS * (1 + driftPpm / 1e6) - lag - 1400 + off;
      this.#add(at, { type: 'output-clock', at: milliseconds(Math.round(at * 10) / 10), heard });
    }
  }

  #readLead(): void {
    const lead = 7680;
    for (let at = 1000; at < this.#options.seconds * 1000; at += 200) {
      const stale = this.#options.storms && this.#part() < 0.3;
      const shown = stale ? lead - 128 * Math.floor(400 * this.#part()) : lead;
      this.#add(at, { type: 'context-lead', at: frames(Math.floor(at * PER_MS)), frames: frames(shown) });
    }
  }

  /** Three shots that must agree: tries again until they do. */
  #measure(capture: number): void {
    for (let from = Math.floor(capture); from + SHOT_FRAMES < this.rendered; from += 2 * RATE) {
      const roundTrip = this.tripOf(from);
      const calm = [0.25, 0.5, 0.75, 1].every((part) => this.tripOf(from + part * SHOT_FRAMES) === roundTrip);
      if (!calm) continue;
      const to = from + SHOT_FRAMES + roundTrip;
      const span = { from: frames(from + roundTrip), to: frames(to) };
      const measured = { ...span, roundTrip: frames(roundTrip), how: 'measured' } as const;
      this.measurements.push({ type: 'measurement', ...measured });
      this.#add((to / RATE) * 1000 + 400, { type: 'measurement', ...measured });
      return;
    }
  }
}
