import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { TransportEvent } from '../../../src/core/transport/events.js';
import type { Plan } from '../../../src/core/transport/plan.js';
import { stateAt } from '../../../src/core/transport/state-at.js';
import { step } from '../../../src/core/transport/step.js';
import type { Frames } from '../../../src/core/units/index.js';
import { bars, frames } from '../../../src/core/units/index.js';
import type { TestSong } from '../../support/programs.js';
import type { Situation } from '../../support/situations.js';
import { Bench, RATE, SITUATIONS, STOPPED, told } from '../../support/situations.js';

const SONGS: Readonly<Record<string, TestSong>> = {
  '4/4': {},
  '7/8, felt in three': { metre: { num: 7, den: 8, groups: [2, 2, 3] }, mark: { num: 1, den: 8 }, bpm: 150 },
  '6/8, felt in two': { metre: { num: 6, den: 8, groups: [3, 3] }, mark: { num: 3, den: 8 }, bpm: 46 },
};

type Event = 'press' | 'play' | 'stop' | 'take-back' | 'keep-that';

/** What each event does, without and with layering kept up. One entry where both are the same. */
type Row = Readonly<Record<Exclude<Event, 'play'>, string | readonly [string, string]>>;

const TABLE: Readonly<Record<Situation, Row>> = {
  'stopped, nothing recorded': {
    press: ['running 0-: begin 7', 'running 0-*: begin 7'],
    stop: 'stopped',
    'take-back': 'stopped: refuse nothing-to-take-back',
    'keep-that': 'stopped: keep-phrase',
  },
  'stopped, layers there': {
    press: 'running',
    stop: 'stopped',
    'take-back': 'stopped: refuse nothing-to-take-back',
    'keep-that': 'stopped: keep-phrase',
  },
  'counting in, open length': {
    press: 'stopped: drop 1',
    stop: 'stopped: drop 1',
    'take-back': 'stopped: drop 1',
    'keep-that': ['running 0-: refuse still-recording', 'running 0-*: refuse still-recording'],
  },
  'counting in, set length': {
    press: ['stopped: drop 1', 'stopped: drop 1, drop 2'],
    stop: ['stopped: drop 1', 'stopped: drop 1, drop 2'],
    'take-back': ['stopped: drop 1', 'stopped: drop 1, drop 2'],
    'keep-that': ['running 0-4: refuse still-recording', 'running 0-4* 4-8*: refuse still-recording'],
  },
  'waiting for the bar': {
    press: ['running: drop 2', 'running: drop 2, drop 3'],
    stop: ['stopped: drop 2', 'stopped: drop 2, drop 3'],
    'take-back': ['running: drop 2', 'running: drop 2, drop 3'],
    'keep-that': ['running 3-7: refuse still-recording', 'running 3-7* 7-11*: refuse still-recording'],
  },
  playing: {
    press: ['running 2-6: begin 7', 'running 2-6* 6-10*: begin 7, begin 8'],
    stop: 'stopped',
    'take-back': 'running: refuse nothing-to-take-back',
    'keep-that': 'running 0-2: begin 7, keep bars as 7, 0 left out',
  },
  'recording, open length': {
    press: ['running 0-4: close 1 at 4', 'running 0-4* 4-8*: close 1 at 4, begin 7'],
    stop: 'stopped: close 1 at 4',
    'take-back': 'stopped: drop 1',
    'keep-that': ['running 0-: refuse still-recording', 'running 0-*: refuse still-recording'],
  },
  'recording, set length': {
    press: ['running 0-4 4-8: begin 7', 'running 0-4: drop 2'],
    stop: ['stopped: cut 1', 'stopped: cut 1, drop 2'],
    'take-back': ['stopped: drop 1', 'stopped: drop 1, drop 2'],
    'keep-that': ['running 0-4: refuse still-recording', 'running 0-4* 4-8*: refuse still-recording'],
  },
  'recording, going round': {
    press: 'running 0-4: drop 2',
    stop: 'stopped: cut 1, drop 2',
    'take-back': 'stopped: drop 1, drop 2',
    'keep-that': ['running 0-4 4-8: refuse still-recording', 'running 0-4 4-8*: refuse still-recording'],
  },
  layering: {
    press: ['running 4-8 8-12: begin 7', 'running 4-8: drop 3'],
    stop: ['stopped: cut 2', 'stopped: cut 2, drop 3'],
    'take-back': ['running: drop 2', 'running: drop 2, drop 3'],
    'keep-that': ['running 4-8: refuse still-recording', 'running 4-8* 8-12*: refuse still-recording'],
  },
  'layering, near the line': {
    press: ['running 4-8 8-12: begin 7', 'running 4-8: drop 3'],
    stop: ['stopped: close 2 at 8', 'stopped: close 2 at 8, drop 3'],
    'take-back': ['running: drop 2', 'running: drop 2, drop 3'],
    'keep-that': ['running 4-8: refuse still-recording', 'running 4-8* 8-12*: refuse still-recording'],
  },
  'layering, hardly begun': {
    press: ['running 4-8 8-12: begin 7', 'running 4-8: drop 3'],
    stop: ['stopped: drop 2', 'stopped: drop 2, drop 3'],
    'take-back': ['running: drop 2', 'running: drop 2, drop 3'],
    'keep-that': ['running 4-8: refuse still-recording', 'running 4-8* 8-12*: refuse still-recording'],
  },
  // Where layering is kept up, the next pass is under way by now, and the one after it follows.
  'closed, not captured whole': {
    press: ['running 4-8 8-12: begin 7', 'running 4-8* 8-12'],
    stop: ['stopped: close 2 at 8', 'stopped: close 2 at 8, drop 3'],
    'take-back': ['running: drop 2', 'running 4-8: drop 3'],
    'keep-that': ['running 4-8: refuse kept-already', 'running 4-8* 8-12*: refuse still-recording'],
  },
  'playing freely': {
    press: 'free: end-free',
    stop: 'stopped: cut-free',
    'take-back': 'stopped: drop-free',
    'keep-that': 'free: refuse still-recording',
  },
  // What was closed is the page's already: it is read, and kept, though nothing plays.
  'closed freely': {
    press: 'free',
    stop: 'stopped: drop-free',
    'take-back': 'stopped: drop-free',
    'keep-that': 'free: refuse still-recording',
  },
};

function done(bench: Bench, situation: Situation, type: Event) {
  const { plan, heard, hasLayers, passBars } = bench.stage(situation);
  const event: TransportEvent = type === 'keep-that' ? { type, heard, bars: bars(2) } : { type, heard };
  const length = passBars === null ? null : bars(passBars);
  return step(plan, event, bench.context({ earliest: frames(heard + 10_000), hasLayers, passBars: length }));
}

describe.each(Object.entries(SONGS))('in %s', (_, song) => {
  describe.each([false, true])('layering kept up: %s', (keepLayering) => {
    const bench = new Bench(song, keepLayering);
    const rows = SITUATIONS.flatMap((situation) =>
      (['press', 'stop', 'take-back', 'keep-that'] as const).map((event) => {
        const does = TABLE[situation][event];
        return [situation, event, typeof does === 'string' ? does : does[keepLayering ? 1 : 0]] as const;
      }),
    );

    test.each(rows)('%s, %s: %s', (situation, event, does) => {
      expect(told(done(bench, situation, event))).toBe(does);
    });

    test.each(SITUATIONS)('%s, play: plays from the top if stopped, else nothing', (situation) => {
      const { plan } = bench.stage(situation);
      const result = done(bench, situation, 'play');
      expect(result.effects).toEqual([]);
      if (plan.type === 'stopped') expect(result.plan).toMatchObject({ type: 'running', passes: [] });
      else expect(result.plan).toEqual(plan);
    });
  });
});

const bench = new Bench();
const { at } = { at: (bar: number): Frames => bench.at(bar) };
const heardAt = (type: 'press' | 'stop' | 'take-back', heard: Frames): TransportEvent => ({ type, heard });

describe('the state', () => {
  test.each<[number, string]>([
    [-0.5, 'counting-in'],
    [0, 'recording'],
    [3.999, 'recording'],
    [4, 'layering'],
    [7.5, 'layering'],
    [8, 'playing'],
  ])('at bar %f of a first pass and one round more is %s', (bar, state) => {
    const plan = bench.running(bench.pass(1, 0, 4), bench.pass(2, 4, 8));
    expect(stateAt(plan, at(bar), bench.grid)).toBe(state);
  });

  test('a press can start a pass in the past, up to one beat after its line', () => {
    const result = step(bench.running(), heardAt('press', at(5.25)), bench.context());
    expect(stateAt(result.plan, at(5.25), bench.grid)).toBe('layering');
    const after = frames(at(5.25) + 1);
    const late = step(bench.running(), heardAt('press', after), bench.context());
    expect(stateAt(late.plan, after, bench.grid)).toBe('waiting');
  });
});

describe('stop', () => {
  const first = { hasLayers: false, passBars: null };

  test.each([
    // A bar of 2.5 s: half of it is more than a false start.
    [0.3, 'stopped: drop 1'],
    [0.45, 'stopped: cut 1'],
    [0.5, 'stopped: close 1 at 1'],
    [7.4, 'stopped: close 1 at 7'],
    [100, 'stopped: close 1 at 64'],
  ])('at bar %f of an open pass: %s', (bar, does) => {
    const plan = bench.running(bench.pass(1, 0, null));
    expect(told(step(plan, heardAt('stop', at(bar)), bench.context(first)))).toBe(does);
  });

  test.each([
    [0.3, 'stopped: drop 1'],
    [0.5, 'stopped: cut 1'],
    [7.4, 'stopped: cut 1'],
    [7.5, 'stopped: close 1 at 8'],
  ])('at bar %f of eight: %s; seven bars are no loop of eight', (bar, does) => {
    const plan = bench.running(bench.pass(1, 0, 8));
    expect(told(step(plan, heardAt('stop', at(bar)), bench.context({ hasLayers: false })))).toBe(does);
  });

  test('cuts a pass where it is heard', () => {
    const plan = bench.running(bench.pass(1, 0, 8));
    const { effects } = step(plan, heardAt('stop', at(3.3)), bench.context());
    expect(effects).toEqual([{ type: 'cut', number: 1, at: at(3.3) }]);
  });

  test('before a second of a loop without a tempo keeps nothing', () => {
    const plan: Plan = { type: 'free', startsAt: frames(1000), endsAt: null };
    expect(told(step(plan, heardAt('stop', frames(999 + RATE)), bench.context(first)))).toBe('stopped: drop-free');
    expect(told(step(plan, heardAt('stop', frames(1000 + RATE)), bench.context(first)))).toBe('stopped: cut-free');
  });
});

describe('a switch that is held', () => {
  /** Presses, and stops 700 ms later because the switch is still down. */
  function held(plan: Plan, pressed: Frames, over: Parameters<Bench['context']>[0] = {}) {
    const context = bench.context({ ...over, lastPress: { heard: pressed, nextPass: 7 } });
    const after = step(plan, heardAt('press', pressed), context);
    const nextPass = 7 + after.effects.filter(({ type }) => type === 'begin').length;
    const heard = frames(pressed + 0.7 * RATE);
    return step(after.plan, { type: 'stop', heard, held: true }, { ...context, nextPass });
  }
  const open = { hasLayers: false, passBars: null };

  test.each<[string, Plan, number, object, string]>([
    ['over the click', bench.running(), 5.24, open, 'stopped: drop 7'],
    ['over a loop', bench.running(), 5.24, {}, 'stopped: drop 7'],
    ['over a loop, layering kept up', bench.running(), 5.24, { keepLayering: true }, 'stopped: drop 7, drop 8'],
    ['with nothing there', STOPPED, 0, open, 'stopped: drop 7'],
    ['with layers there', STOPPED, 0, {}, 'stopped'],
    ['in an open pass', bench.running(bench.pass(1, 0, null)), 3.6, open, 'stopped: close 1 at 4'],
    ['in a set one', bench.running(bench.pass(2, 4, 8)), 6, {}, 'stopped: cut 2, drop 7'],
    ['at the end of a set one', bench.running(bench.pass(2, 4, 8)), 7.9, {}, 'stopped: close 2 at 8, drop 7'],
    ['waiting', bench.running(bench.pass(2, 4, 8)), 3.8, {}, 'stopped'],
  ])('%s only stops: what its press began is undone', (_, plan, bar, over, does) => {
    expect(told(held(plan, at(bar), over))).toBe(does);
  });

  test('without a tempo lets go of what its press began, and only of that', () => {
    expect(told(held(STOPPED, at(0), { ...open, withoutTempo: true, falseStart: frames(0) }))).toBe(
      'stopped: drop-free',
    );
  });

  test('after a press that was refused undoes nothing', () => {
    const plan = bench.running(bench.pass(1, 0, null));
    const stop: TransportEvent = { type: 'stop', heard: at(3.9), held: true };
    expect(told(step(plan, stop, bench.context(open)))).toBe('stopped: close 1 at 4');
  });
});

describe('without a tempo', () => {
  const free = (endsAt: number | null): Plan => ({
    type: 'free',
    startsAt: frames(40_000),
    endsAt: endsAt === null ? null : frames(endsAt),
  });
  const nothing = bench.context({ hasLayers: false, passBars: null, withoutTempo: true });

  test('the first press records at once, the second waits for the tempo, and others change nothing', () => {
    const first = step(STOPPED, heardAt('press', frames(40_000)), nothing);
    expect(first).toEqual({ plan: free(null), effects: [{ type: 'begin-free', at: 40_000 }] });
    const second = step(first.plan, heardAt('press', frames(60_000)), nothing);
    expect(second).toEqual({ plan: free(60_000), effects: [{ type: 'end-free', from: 40_000, to: 60_000 }] });
    expect(step(second.plan, heardAt('press', frames(90_000)), nothing)).toEqual({ plan: free(60_000), effects: [] });
  });

  test.each<[string, Plan, boolean]>([
    ['a closed loop', free(60_000), true],
    ['a loop that is still played', free(null), false],
    ['nothing', STOPPED, false],
    ['what plays already', bench.running(), false],
  ])('joining takes up %s from where it would be: %s', (_, plan, joins) => {
    const context = { ...nothing, earliest: frames(50_000) };
    const result = step(plan, { type: 'join', origin: frames(41_000) }, context);
    expect(result.effects).toEqual([]);
    if (joins) expect(result.plan).toEqual({ type: 'running', startsAt: 50_000, origin: 41_000, passes: [] });
    else expect(result.plan).toBe(plan);
  });
});

describe('laws of the transport', () => {
  const events = fc.array(
    fc.record({
      type: fc.constantFrom('press', 'press', 'press', 'stop', 'take-back', 'play', 'keep-that'),
      wait: fc.integer({ min: 0, max: 800_000 }),
      late: fc.integer({ min: 0, max: 100_000 }),
    }),
    { maxLength: 40 },
  );
  const settings = fc.record({
    hasLayers: fc.boolean(),
    keepLayering: fc.boolean(),
    passBars: fc.option(fc.integer({ min: 1, max: 8 })),
  });

  test('passes stay in order, never overlap, keep their numbers, and are at least a bar long', () => {
    fc.assert(
      fc.property(events, settings, (list, { hasLayers, keepLayering, passBars }) => {
        let plan: Plan = STOPPED;
        let now = 0;
        let nextPass = 1;
        for (const { type, wait, late } of list) {
          now += wait;
          const event = { type, heard: frames(now), bars: bars(4) } as TransportEvent;
          const length = passBars === null ? null : bars(passBars);
          const earliest = frames(now + late);
          const result = step(
            plan,
            event,
            bench.context({ earliest, hasLayers, keepLayering, passBars: length, loopBars: length, nextPass }),
          );
          plan = result.plan;
          nextPass += result.effects.filter((effect) => effect.type === 'begin').length;
          if (plan.type !== 'running') continue;
          const { passes } = plan;
          const numbers = passes.map((each) => each.number);
          expect(numbers).toEqual([...new Set(numbers)].sort((a, b) => a - b));
          passes.forEach((each, i) => {
            if (each.endBar !== null) expect(each.endBar - each.startBar).toBeGreaterThanOrEqual(1);
            const next = passes[i + 1];
            if (next !== undefined) expect(next.startBar).toBeGreaterThanOrEqual(each.endBar ?? Infinity);
          });
        }
      }),
    );
  });

  test('nothing that was played for a second is dropped by a stop', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 8 }),
        fc.option(fc.integer({ min: 1, max: 8 })),
        fc.integer({ min: 0, max: 4_000_000 }),
        (start, length, played) => {
          const plan = bench.running(bench.pass(2, start, length === null ? null : start + length));
          const heard = frames(at(start) + played);
          const { effects } = step(plan, heardAt('stop', heard), bench.context());
          expect(effects.map(({ type }) => type === 'drop')).toEqual([played < RATE && played < (at(1) - at(0)) / 2]);
        },
      ),
    );
  });
});
