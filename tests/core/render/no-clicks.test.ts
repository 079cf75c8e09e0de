/**
 * A restless player and a restless page: presses, stops, takings back, other sections, gains, layers left out and put in
 * again, at any moment and in any order, over sines. Nothing may click, and whatever happened, what sounds afterwards is
 * what plan and program say.
 */
import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import type { EngineCommand, EngineReport } from '../../../src/core/render/commands.js';
import { clickSound } from '../../../src/core/render/click-sound.js';
import { bars, frames, gain, sampleRate } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import type { ReferencePart, ReferenceVoice } from '../../support/reference-mixer.js';
import { referenceFrame } from '../../support/reference-mixer.js';
import { rowProgram } from '../../support/row-programs.js';
import type { PageLayer } from '../../support/song-page.js';
import { voiceOf } from '../../support/song-page.js';

type Closed = Extract<EngineReport, { type: 'layer-closed' }>;

const RATE = 48_000;
/** Two sections in different metres; a bar lasts 0.5 s and 0.4 s. */
const GRIDS = [
  { rate: RATE, barFrames: 24_000, pulses: 4, beats: 0b1111 },
  { rate: RATE, barFrames: 19_200, pulses: 3, beats: 0b111 },
] as const;
const PEAK = 0.04;
const HERTZ = [61, 47] as const;
const MOST_LAYERS = 5;
/** Handles of layers that were there before, far above what the engine gives out. */
const STORED = 1_000_000;
const CLICK = 0.02;

const sine = (channel: number, frame: number): number =>
  Math.fround(PEAK * Math.sin((2 * Math.PI * HERTZ[channel as 0 | 1] * frame) / RATE));

/**
 * The greatest step that may be heard, a voice: that of the sine itself, twice where two iterations cross, with gains that
 * add up to √2 at most; that of the two fades, whose tables rise by √2 / 480 a frame at most; and that of three gains that
 * move at once: its own (5 ms or slower), the fade at a stop or a cut (10 ms), the fade round audio that is late (4 ms).
 */
const SINE_STEP = (PEAK * 2 * Math.PI * HERTZ[0]) / RATE;
const VOICE_STEP = Math.SQRT2 * SINE_STEP + PEAK * ((2 * Math.SQRT2) / 480 + 1 / 240 + 1 / 480 + 1 / 192);
/** Voices of the program, as many again that have just left, and those of passes that have just closed. Never more than were made. */
const MOST_VOICES = 2 * MOST_LAYERS + 2;

type Action =
  | { readonly do: 'press' | 'stop' | 'play' | 'take-back'; readonly late: number }
  | { readonly do: 'keep-that'; readonly bars: number; readonly late: number }
  | { readonly do: 'go'; readonly late: number }
  | { readonly do: 'gain'; readonly layer: number; readonly left: number; readonly right: number }
  | { readonly do: 'leave-out' | 'remove' | 'retake'; readonly layer: number }
  | { readonly do: 'put-back' }
  | { readonly do: 'click'; readonly on: boolean; readonly level: number }
  | {
      readonly do: 'rules';
      readonly bars: number | null;
      readonly keepLayering: boolean;
      readonly replaces: number | null;
      readonly channels: readonly number[];
    };
interface Moment {
  /** Frames since the moment before. */
  readonly wait: number;
  readonly action: Action;
  /** Frames that the page takes to answer a pass that closes from now on. */
  readonly answers: number;
}

const unit = fc.integer({ min: 0, max: 4 }).map((quarters) => quarters / 4);
const late = fc.integer({ min: 0, max: 4000 });
const layer = fc.integer({ min: 0, max: MOST_LAYERS - 1 });
const action: fc.Arbitrary<Action> = fc.oneof(
  { weight: 8, arbitrary: fc.record({ do: fc.constant('press' as const), late }) },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('stop' as const), late }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('play' as const), late }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant('take-back' as const), late }) },
  {
    weight: 2,
    arbitrary: fc.record({ do: fc.constant('keep-that' as const), bars: fc.integer({ min: 1, max: 3 }), late }),
  },
  { weight: 4, arbitrary: fc.record({ do: fc.constant('go' as const), late }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant('gain' as const), layer, left: unit, right: unit }) },
  {
    weight: 4,
    arbitrary: fc.record({ do: fc.constantFrom('leave-out' as const, 'remove' as const, 'retake' as const), layer }),
  },
  { weight: 1, arbitrary: fc.record({ do: fc.constant('put-back' as const) }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant('click' as const), on: fc.boolean(), level: unit }) },
  {
    weight: 3,
    arbitrary: fc.record({
      do: fc.constant('rules' as const),
      bars: fc.constantFrom(null, 1, 2, 3),
      keepLayering: fc.boolean(),
      replaces: fc.option(layer),
      channels: fc.constantFrom([0], [1], [0, 1]),
    }),
  },
);
const moments = fc.array(
  fc.record({
    wait: fc.oneof(
      { weight: 1, arbitrary: fc.integer({ min: 0, max: 700 }) },
      { weight: 3, arbitrary: fc.integer({ min: 0, max: 60_000 }) },
    ),
    action,
    answers: fc.oneof(fc.constant(0), fc.integer({ min: 0, max: 30_000 })),
  }),
  { minLength: 5, maxLength: 40 },
);

/** A section that has begun, and how many have begun up to it. */
interface Entry {
  readonly section: 0 | 1;
  readonly number: number;
}

/** The page and the player of a restless evening. */
class Evening {
  readonly p: Performance;
  /** The layers of both sections, and what was removed last. */
  readonly sections: PageLayer[][] = [storedLayers(0), storedLayers(1)];
  removed: PageLayer | null = null;
  current: 0 | 1 = 0;
  passesKnown = 0;
  /** The section in which each pass was begun; it may be another by the time that the pass has come in. */
  readonly #begunIn = new Map<number, Entry>();
  readonly #waiting: { readonly closed: Closed; readonly entry: Entry; readonly at: number }[] = [];
  /** Sections that have begun. */
  #entries = 0;
  #seen = 0;
  #revision = 0;
  #answers = 0;

  constructor(sizes: readonly number[], roundTrip: number, outputDelay: number) {
    let next = 0;
    this.p = new Performance({
      rate: RATE,
      roundTrip,
      outputDelay,
      channels: 2,
      blockSize: () => sizes[next++ % sizes.length]!,
    });
    this.p.play = (heard) => sine(0, heard);
    this.p.playOn = (channel, heard) => sine(channel, heard);
    for (const { audio, bodyFrames } of this.sections.flat()) {
      const length = 3 * bodyFrames;
      this.p.stored.set(audio, [Array.from({ length }, (_, frame) => sine(0, frame + audio))]);
    }
    this.send();
    this.p.rules(2);
    // The click's gain is on its way from where it was.
    this.p.runUntil(1000);
    this.p.handle({ type: 'play', heard: frames(0) });
  }

  /** Goes on rendering, and answers what closes meanwhile. */
  runUntil(frame: number): void {
    while (this.p.rendered < frame) {
      this.p.runUntil(this.p.rendered + 1);
      this.#look();
    }
  }

  do({ wait, action, answers }: Moment): void {
    this.#answers = answers;
    this.runUntil(this.p.rendered + wait);
    this.#carryOut(action);
    this.#look();
  }

  /** Whatever has closed, the page is told of now. */
  answerAll(): void {
    this.#look();
    for (const { closed, entry } of this.#waiting.splice(0)) this.#take(closed, entry.section);
    this.send();
  }

  /**
   * Passes that have closed and that the page does not know of: what they replace is silent, wherever it is. They sound
   * where their section has not ended since: one that begins, even if it is the same, has what its program names.
   */
  get unanswered(): readonly { readonly closed: Closed; readonly sounds: boolean }[] {
    this.#look();
    return this.#waiting.map(({ closed, entry }) => ({ closed, sounds: entry.number === this.#entries }));
  }

  get layers(): PageLayer[] {
    return this.sections[this.current]!;
  }

  set layers(layers: PageLayer[]) {
    this.sections[this.current] = layers;
  }

  send(): void {
    this.p.useProgram(this.#program(this.current));
  }

  #program(section: 0 | 1) {
    this.#revision++;
    const grid = GRIDS[section];
    const voices = this.sections[section]!.map((each) => voiceOf(each, grid));
    return rowProgram({ grid, voices, revision: this.#revision, passesKnown: this.passesKnown });
  }

  #look(): void {
    const { reports } = this.p;
    for (; this.#seen < reports.length; this.#seen++) {
      const report = reports[this.#seen]!;
      const now = { section: this.current, number: this.#entries };
      if (report.type === 'pass-begun') this.#begunIn.set(report.pass, now);
      if (report.type === 'layer-closed') {
        const entry = this.#begunIn.get(report.pass) ?? now;
        this.#waiting.push({ closed: report, entry, at: this.p.rendered + this.#answers });
      }
      if (report.type === 'section-changes') {
        this.current = report.slot as 0 | 1;
        this.#entries++;
      }
    }
    const due = this.#waiting.filter(({ at }) => at <= this.p.rendered);
    if (due.length === 0) return;
    this.#waiting.splice(0, this.#waiting.length, ...this.#waiting.filter((each) => !due.includes(each)));
    for (const { closed, entry } of due) this.#take(closed, entry.section);
    this.send();
  }

  #take(closed: Closed, section: 0 | 1): void {
    const made = closed.channels.map((channel, part) => layerOf(closed, channel, part));
    this.passesKnown = Math.max(this.passesKnown, closed.pass + made.length - 1);
    const kept = this.sections[section]!.filter((each) => each.voice !== closed.replaces);
    this.sections[section] = [...kept, ...made].slice(-MOST_LAYERS);
  }

  #carryOut(action: Action): void {
    const { p } = this;
    const heard = (ago: number) => frames(Math.max(0, p.heard - ago));
    switch (action.do) {
      case 'press':
      case 'stop':
      case 'play':
      case 'take-back':
        return p.handle({ type: action.do, heard: heard(action.late) });
      case 'keep-that':
        return p.handle({ type: 'keep-that', heard: heard(action.late), bars: bars(action.bars) });
      case 'go': {
        const other = this.current === 0 ? 1 : 0;
        p.handle({ type: 'stand-by', slot: other, program: this.#program(other) });
        return p.handle({ type: 'go', slot: other, heard: heard(action.late) });
      }
      case 'gain':
        return this.#edit(action.layer, (each) => ({ ...each, left: action.left, right: action.right }));
      case 'leave-out':
        return this.#edit(action.layer, (each) => ({ ...each, leftOut: !each.leftOut }));
      case 'retake': {
        // Another take of the same layer: elsewhere in its recording, which was there before.
        if ((this.layers[action.layer]?.audio ?? 0) < STORED) return;
        return this.#edit(action.layer, (each) => ({ ...each, bodyStart: ((each.bodyStart + 777) % 5000) + 500 }));
      }
      case 'remove': {
        const removed = this.layers[action.layer];
        if (removed === undefined) return;
        this.removed = removed;
        this.layers = this.layers.filter((each) => each !== removed);
        return this.send();
      }
      case 'put-back': {
        const { removed } = this;
        if (removed === null || this.layers.length >= MOST_LAYERS) return;
        if (this.layers.some((each) => each.voice === removed.voice)) return;
        this.layers = [removed, ...this.layers];
        return this.send();
      }
      case 'click': {
        const command: EngineCommand = { type: 'set-click', playing: action.on, gain: gain(CLICK * action.level) };
        return p.handle(command);
      }
      case 'rules': {
        const replaced = action.replaces === null ? undefined : this.layers[action.replaces];
        return p.rules(action.bars, 1, {
          keepLayering: action.keepLayering,
          replaces: replaced?.voice ?? null,
          channels: action.channels,
        });
      }
    }
  }

  #edit(index: number, change: (layer: PageLayer) => PageLayer): void {
    if (this.layers[index] === undefined) return;
    this.layers = this.layers.map((each, i) => (i === index ? change(each) : each));
    this.send();
  }
}

/** A layer as long as the section and one of three bars, begun in its second. */
const storedLayers = (section: 0 | 1): PageLayer[] =>
  [4, 3].map((length, i) => ({
    voice: STORED + 10 * section + i,
    audio: STORED + 10 * section + i,
    channel: 0,
    bodyStart: 1000,
    bodyFrames: length * GRIDS[section].barFrames,
    bars: length,
    startBar: i,
    left: 1,
    right: 1,
    leftOut: false,
  }));

/** A part of a pass as a layer. */
const layerOf = (closed: Closed, channel: number, part: number): PageLayer => ({
  voice: closed.pass + part,
  audio: closed.audio,
  channel,
  bodyStart: closed.bodyStart,
  bodyFrames: closed.bodyFrames,
  bars: closed.bars,
  startBar: closed.startBar % closed.bars,
  left: 1,
  right: 1,
  leftOut: false,
});

/** Frame of the greatest step, and the step. */
function greatestStep(samples: Float32Array): { readonly frame: number; readonly step: number } {
  let found = { frame: 0, step: 0 };
  for (let i = 1; i < samples.length; i++) {
    const step = Math.abs(samples[i]! - samples[i - 1]!);
    if (!(step <= found.step)) found = { frame: i, step };
  }
  return found;
}

/** What should sound now: the layers of the section, and what has closed and the page does not know of. */
function expected(evening: Evening): ReferencePart[] {
  const { p } = evening;
  const { plan } = p.engine;
  if (plan.type !== 'running') return [];
  const audioOf = (audio: number, channel: number) => p.stored.get(audio)![channel]!;
  const { unanswered } = evening;
  const replaced = new Set(unanswered.map(({ closed }) => closed.replaces));
  const known = evening.layers
    .filter((each) => !replaced.has(each.voice))
    .map((each) => ({ ...voiceOf(each, GRIDS[evening.current]), audio: audioOf(each.audio, each.channel) }));
  const sounding = unanswered.filter(({ sounds }) => sounds);
  const own = sounding.flatMap(({ closed }) =>
    closed.channels.map((channel) => ({
      ...voiceOf(layerOf(closed, channel, 0), GRIDS[evening.current]),
      audio: audioOf(closed.audio, channel),
    })),
  );
  return [
    { origin: plan.origin, voices: [...known, ...own].map((each) => ({ end: Infinity, ...each }) as ReferenceVoice) },
  ];
}

/** Frames out of [from, to) in which the house is not what is expected there. */
function wrongFrames(evening: Evening, parts: ReferencePart[], from: number, to: number): unknown[] {
  const { house } = evening.p;
  const wrong = [];
  for (let frame = from; frame < to && wrong.length < 3; frame++) {
    const { left, scale } = referenceFrame(parts, frame, PEAK);
    const got = house[frame]!;
    if (!(Math.abs(got - left) <= 1e-7 * scale)) wrong.push({ frame, got, expected: left });
  }
  return wrong;
}

describe('a restless evening', () => {
  test('has no click in it, and afterwards everything is in its place', () => {
    const sizes = fc.array(fc.integer({ min: 16, max: 1100 }), { minLength: 1, maxLength: 5 });
    const trip = fc.integer({ min: 0, max: 9000 });
    const delay = fc.integer({ min: 0, max: 6000 });
    fc.assert(
      fc.property(moments, sizes, trip, delay, (list, blocks, roundTrip, outputDelay) => {
        const evening = new Evening(blocks, roundTrip, outputDelay);
        const { p } = evening;
        for (const moment of list) evening.do(moment);

        // The evening ends: what is being recorded is taken back, what closed is left as it is.
        while (p.engine.plan.type === 'running' && p.engine.plan.passes.length > 0) {
          p.handle({ type: 'take-back', heard: frames(p.heard) });
        }
        // A section that was asked for begins within a bar and two blocks.
        const settling = RATE + roundTrip;
        evening.do({ wait: settling, action: { do: 'click', on: false, level: 0 }, answers: 1e9 });
        const from = p.rendered;
        p.runUntil(from + RATE);
        expect(wrongFrames(evening, expected(evening), from, from + RATE - 1000)).toEqual([]);
        evening.answerAll();
        const answered = p.rendered + RATE / 20;
        p.runUntil(answered + 2 * RATE);
        expect(wrongFrames(evening, expected(evening), answered, answered + 2 * RATE - 1000)).toEqual([]);

        const { frame, step } = greatestStep(p.house);
        const voices = Math.min(MOST_VOICES, evening.passesKnown + 6);
        expect({ frame, step: step > voices * VOICE_STEP ? step : 'small' }).toEqual({ frame, step: 'small' });
        const clicks = p.left.map((sample, i) => sample - p.house[i]!);
        const clickStep = greatestStep(clickSound(sampleRate(RATE))).step + 1 / 240;
        expect(greatestStep(clicks).step).toBeLessThanOrEqual(CLICK * clickStep + 1e-6);
        expect(p.all('fault').filter((fault) => fault.kind !== 'late-chunk')).toEqual([]);
      }),
      { numRuns: 40, interruptAfterTimeLimit: 45_000 },
    );
  }, 60_000);
});
