import { describe, expect, test } from 'vitest';
import fc from 'fast-check';
import { steadyGrid } from '../../../src/core/meter/grid.js';
import type { Plan, RunningPlan } from '../../../src/core/transport/plan.js';
import { stateAt } from '../../../src/core/transport/state-at.js';
import type { StepContext, TransportEvent } from '../../../src/core/transport/step.js';
import { step } from '../../../src/core/transport/step.js';
import { bars, frames } from '../../../src/core/units/index.js';

const BAR = 1000;
const grid = steadyGrid({ barFrames: frames(BAR), pulses: 4, beats: 0b1111 });
const ORIGIN = 10_000;

function context(over: Partial<StepContext> = {}): StepContext {
  return {
    grid,
    earliest: frames(50_000),
    oldest: frames(0),
    hasLayers: true,
    passBars: bars(4),
    countIn: bars(1),
    withoutTempo: false,
    keepLayering: false,
    parts: 1,
    leadFrames: frames(0),
    nextPass: 7,
    ...over,
  };
}

const at = (bar: number): ReturnType<typeof frames> => frames(ORIGIN + bar * BAR);

function running(passes: RunningPlan['passes'] = []): RunningPlan {
  return { type: 'running', startsAt: frames(ORIGIN - BAR), origin: frames(ORIGIN), passes };
}

const pass = (number: number, start: number, end: number | null, over: boolean) => ({
  number,
  startBar: bars(start),
  endBar: end === null ? null : bars(end),
  over,
  keepsGoing: false,
});

const STOPPED: Plan = { type: 'stopped', at: frames(0) };
const press = (heard: number): TransportEvent => ({ type: 'press', heard: frames(heard) });

/** Every state a player can be in, as a plan and the frame that is heard. */
const SITUATIONS = {
  'stopped, nothing recorded': { plan: STOPPED, heard: 40_000, hasLayers: false, passBars: null },
  'stopped, layers there': { plan: STOPPED, heard: 40_000, hasLayers: true, passBars: 4 },
  'counting in': { plan: running([pass(1, 0, null, false)]), heard: at(-0.5), hasLayers: false, passBars: null },
  'waiting for the bar': { plan: running([pass(2, 3, 7, true)]), heard: at(2.9), hasLayers: true, passBars: 4 },
  playing: { plan: running(), heard: at(2.1), hasLayers: true, passBars: 4 },
  'recording, open length': {
    plan: running([pass(1, 0, null, false)]),
    heard: at(3.9),
    hasLayers: false,
    passBars: null,
  },
  'recording, set length': { plan: running([pass(1, 0, 4, false)]), heard: at(3.2), hasLayers: false, passBars: 4 },
  'recording, going round': {
    plan: running([pass(1, 0, 4, false), pass(2, 4, 8, true)]),
    heard: at(3.2),
    hasLayers: false,
    passBars: 4,
  },
  layering: { plan: running([pass(2, 4, 8, true)]), heard: at(6), hasLayers: true, passBars: 4 },
  'closed, not captured whole': { plan: running([pass(2, 4, 8, true)]), heard: at(8.1), hasLayers: true, passBars: 4 },
} as const;

type Simple = 'press' | 'play' | 'stop' | 'take-back';
type Situation = keyof typeof SITUATIONS;

function after(situation: Situation, event: Simple, rendered = 0.3) {
  const { plan, heard, hasLayers, passBars } = SITUATIONS[situation];
  const earliest = frames(heard + rendered * BAR);
  return step(
    plan,
    { type: event, heard: frames(heard) },
    context({ earliest, hasLayers, passBars: passBars === null ? null : bars(passBars) }),
  );
}

describe('the one switch', () => {
  test.each<[Situation, string, string[], readonly [number, number | null][] | null]>([
    ['stopped, nothing recorded', 'running', ['begin 7'], [[0, null]]],
    ['stopped, layers there', 'running', [], []],
    ['counting in', 'stopped', ['drop 1'], null],
    ['waiting for the bar', 'running', ['drop 2'], []],
    ['playing', 'running', ['begin 7'], [[2, 6]]],
    ['recording, open length', 'running', ['close 1 at 4'], [[0, 4]]],
    [
      'recording, set length',
      'running',
      ['begin 7'],
      [
        [0, 4],
        [4, 8],
      ],
    ],
    ['recording, going round', 'running', ['drop 2'], [[0, 4]]],
    [
      'layering',
      'running',
      ['begin 7'],
      [
        [4, 8],
        [8, 12],
      ],
    ],
    [
      'closed, not captured whole',
      'running',
      ['begin 7'],
      [
        [4, 8],
        [8, 12],
      ],
    ],
  ])('%s: %s, %j', (situation, type, effects, passes) => {
    const result = after(situation, 'press');
    expect(result.plan.type).toBe(type);
    expect(result.effects.map(nameOf)).toEqual(effects);
    const left = result.plan.type === 'running' ? result.plan.passes.map((each) => [each.startBar, each.endBar]) : null;
    expect(left).toEqual(passes);
  });
});

describe('stop', () => {
  test.each<[Situation, string[]]>([
    ['stopped, nothing recorded', []],
    ['stopped, layers there', []],
    ['counting in', ['drop 1']],
    ['waiting for the bar', ['drop 2']],
    ['playing', []],
    ['recording, open length', ['close 1 at 4']],
    ['recording, set length', ['drop 1']],
    ['recording, going round', ['drop 1', 'drop 2']],
    ['layering', ['drop 2']],
    ['closed, not captured whole', ['close 2 at 8']],
  ])('%s: %j', (situation, effects) => {
    const result = after(situation, 'stop');
    expect(result.plan.type).toBe('stopped');
    expect(result.effects.map(nameOf)).toEqual(effects);
  });

  test('an open pass of less than half a bar is dropped', () => {
    const plan = running([pass(1, 0, null, false)]);
    const result = step(plan, { type: 'stop', heard: at(0.4) }, context({ hasLayers: false, passBars: null }));
    expect(result.effects.map(nameOf)).toEqual(['drop 1']);
  });
});

describe('take back', () => {
  test.each<[Situation, string, string[]]>([
    ['stopped, nothing recorded', 'stopped', ['refuse nothing-to-take-back']],
    ['stopped, layers there', 'stopped', ['refuse nothing-to-take-back']],
    ['counting in', 'stopped', ['drop 1']],
    ['waiting for the bar', 'running', ['drop 2']],
    ['playing', 'running', ['refuse nothing-to-take-back']],
    ['recording, open length', 'stopped', ['drop 1']],
    ['recording, set length', 'stopped', ['drop 1']],
    ['recording, going round', 'running', ['drop 2']],
    ['layering', 'running', ['drop 2']],
    ['closed, not captured whole', 'running', ['drop 2']],
  ])('%s: %s, %j', (situation, type, effects) => {
    const result = after(situation, 'take-back');
    expect(result.plan.type).toBe(type);
    expect(result.effects.map(nameOf)).toEqual(effects);
  });
});

describe('play', () => {
  test.each(Object.keys(SITUATIONS) as Situation[])('%s: plays from the top if stopped, else nothing', (situation) => {
    const { plan } = SITUATIONS[situation];
    const result = after(situation, 'play');
    expect(result.effects).toEqual([]);
    if (plan.type === 'running') expect(result.plan).toBe(plan);
    else expect(result.plan).toMatchObject({ type: 'running', passes: [] });
  });
});

describe('the state', () => {
  test.each<[number, string]>([
    [-0.5, 'counting-in'],
    [0, 'recording'],
    [3.999, 'recording'],
    [4, 'layering'],
    [7.5, 'layering'],
    [8, 'playing'],
  ])('at bar %f of a first pass and one round more is %s', (bar, state) => {
    const plan = running([pass(1, 0, 4, false), pass(2, 4, 8, true)]);
    expect(stateAt(plan, frames(Math.round(ORIGIN + bar * BAR)), grid)).toBe(state);
  });

  test('a press can start a pass in the past, up to one beat after its line', () => {
    const result = step(running(), press(at(5) + 250), context());
    expect(stateAt(result.plan, frames(at(5) + 250), grid)).toBe('layering');
    const late = step(running(), press(at(5) + 251), context());
    expect(stateAt(late.plan, frames(at(5) + 251), grid)).toBe('waiting');
  });
});

test('an open pass is 64 bars long at most, however late it is closed', () => {
  const plan = running([pass(1, 0, null, false)]);
  const result = step(plan, press(at(100)), context({ hasLayers: false, passBars: null }));
  expect(result.effects.map(nameOf)).toEqual(['close 1 at 64']);
});

describe('without a tempo', () => {
  const free = (endsAt: number | null): Plan => ({
    type: 'free',
    startsAt: frames(40_000),
    endsAt: endsAt === null ? null : frames(endsAt),
  });
  const nothing = context({ hasLayers: false, passBars: null, withoutTempo: true });

  test('the first press records at once, the second waits for the tempo, and others change nothing', () => {
    const first = step(STOPPED, press(40_000), nothing);
    expect(first).toEqual({ plan: free(null), effects: [{ type: 'begin-free', at: 40_000 }] });
    const second = step(first.plan, press(60_000), nothing);
    expect(second).toEqual({ plan: free(60_000), effects: [{ type: 'end-free', from: 40_000, to: 60_000 }] });
    expect(step(second.plan, press(90_000), nothing)).toEqual({ plan: free(60_000), effects: [] });
  });

  test.each<[string, Plan, boolean]>([
    ['a closed loop', free(60_000), true],
    ['a loop that is still played', free(null), false],
    ['nothing', STOPPED, false],
    ['what plays already', running(), false],
  ])('joining takes up %s from where it would be: %s', (_, plan, joins) => {
    const result = step(plan, { type: 'join', origin: frames(41_000) }, nothing);
    expect(result.effects).toEqual([]);
    if (joins) expect(result.plan).toEqual({ type: 'running', startsAt: 50_000, origin: 41_000, passes: [] });
    else expect(result.plan).toBe(plan);
  });

  test.each(['stop', 'take-back'] as const)('%s lets go of it, played or closed', (type) => {
    for (const plan of [free(null), free(60_000)]) {
      const result = step(plan, { type, heard: frames(61_000) }, nothing);
      expect(result.plan.type).toBe('stopped');
      expect(result.effects.map(nameOf)).toEqual(['drop-free']);
    }
  });
});

describe('keep that', () => {
  test.each<[Situation, string[]]>([
    ['stopped, nothing recorded', ['keep-phrase']],
    ['stopped, layers there', ['keep-phrase']],
    ['counting in', ['refuse still-recording']],
    ['waiting for the bar', ['refuse still-recording']],
    ['playing', ['begin 7']],
    ['recording, open length', ['refuse still-recording']],
    ['recording, set length', ['refuse still-recording']],
    ['recording, going round', ['refuse still-recording']],
    ['layering', ['refuse still-recording']],
    ['closed, not captured whole', ['refuse still-recording']],
  ])('%s: %j', (situation, effects) => {
    const { plan, heard, hasLayers } = SITUATIONS[situation];
    const result = step(plan, { type: 'keep-that', heard: frames(heard), bars: bars(2) }, context({ hasLayers }));
    expect(result.effects.map(nameOf)).toEqual(effects);
  });

  test.each([
    [2.6, 4, 0, 3],
    [8.4, 4, 4, 8],
    [8.5, 4, 5, 9],
    [300.2, 4, 296, 300],
    [0.5, 4, 0, 1],
  ])('at bar %f, of %i bars, keeps [%i, %i)', (bar, length, from, to) => {
    const event = { type: 'keep-that', heard: frames(Math.round(at(0) + bar * BAR)), bars: bars(length) } as const;
    const { plan } = step(running(), event, context());
    expect(plan).toMatchObject({ passes: [{ startBar: from, endBar: to }] });
  });

  test('keeps whole bars that were heard and are held, up to the nearest line, or says why not', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -2000, max: 400_000 }),
        fc.integer({ min: 1, max: 64 }),
        fc.integer({ min: 0, max: 420_000 }),
        (position, length, oldest) => {
          const heard = frames(ORIGIN + position);
          const event = { type: 'keep-that', heard, bars: bars(length) } as const;
          const { plan, effects } = step(running(), event, context({ oldest: frames(oldest) }));
          const pass = plan.type === 'running' ? plan.passes[0] : undefined;
          const end = Math.floor(position / BAR + 0.5);
          if (pass === undefined) {
            const why = end < 1 ? 'no-whole-bar' : 'not-in-the-ring';
            expect(effects).toEqual([{ type: 'refuse', why }]);
            if (end >= 1) expect(ORIGIN + (end - 1) * BAR).toBeLessThan(oldest);
            return;
          }
          expect(pass.endBar).toBe(end);
          expect(end - pass.startBar).toBeLessThanOrEqual(length);
          expect(ORIGIN + pass.startBar * BAR).toBeGreaterThanOrEqual(Math.min(oldest, ORIGIN + (end - 1) * BAR));
          const more = pass.startBar > Math.max(0, end - length);
          if (more) expect(ORIGIN + (pass.startBar - 1) * BAR).toBeLessThan(oldest);
        },
      ),
    );
  });
});

describe('laws of the transport', () => {
  const events = fc.array(
    fc.record({
      type: fc.constantFrom<Simple>('press', 'press', 'press', 'stop', 'take-back', 'play'),
      wait: fc.integer({ min: 0, max: 6000 }),
      late: fc.integer({ min: 0, max: 900 }),
    }),
    { maxLength: 40 },
  );

  test('passes stay in order, never overlap, keep their numbers, and are at least a bar long', () => {
    fc.assert(
      fc.property(events, fc.boolean(), fc.option(fc.integer({ min: 1, max: 8 })), (list, hasLayers, length) => {
        let plan: Plan = STOPPED;
        let now = 0;
        let nextPass = 1;
        for (const { type, wait, late } of list) {
          now += wait;
          const result = step(
            plan,
            { type, heard: frames(now) },
            context({
              earliest: frames(now + late),
              hasLayers,
              passBars: length === null ? null : bars(length),
              nextPass,
            }),
          );
          plan = result.plan;
          nextPass += result.effects.filter((effect) => effect.type === 'begin').length;
          if (plan.type !== 'running') continue;
          const numbers = plan.passes.map((each) => each.number);
          expect(numbers).toEqual([...new Set(numbers)].sort((a, b) => a - b));
          plan.passes.forEach((each, i) => {
            if (each.endBar !== null) expect(each.endBar - each.startBar).toBeGreaterThanOrEqual(1);
            const next = plan.type === 'running' ? plan.passes[i + 1] : undefined;
            if (next !== undefined) expect(next.startBar).toBeGreaterThanOrEqual(each.endBar ?? Infinity);
          });
        }
      }),
    );
  });
});

function nameOf(effect: ReturnType<typeof step>['effects'][number]): string {
  switch (effect.type) {
    case 'begin':
      return `begin ${effect.pass.number}`;
    case 'close':
      return `close ${effect.number} at ${effect.endBar}`;
    case 'drop':
      return `drop ${effect.number}`;
    case 'refuse':
      return `refuse ${effect.why}`;
    default:
      return effect.type;
  }
}
