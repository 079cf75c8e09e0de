import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { fittingBars } from '../../../src/core/transport/keep-that.js';
import type { Pass } from '../../../src/core/transport/plan.js';
import { step } from '../../../src/core/transport/step.js';
import { bars, frames } from '../../../src/core/units/index.js';
import { Bench, told } from '../../support/situations.js';

const bench = new Bench();
const open = { loopBars: null };
const over = (...passes: readonly Pass[]) => bench.running(...passes);

const keep = (bar: number, length: number, context: Parameters<Bench['context']>[0] = {}, plan = over()) =>
  step(plan, { type: 'keep-that', heard: bench.at(bar), bars: bars(length) }, bench.context(context));

describe('over a loop of open length', () => {
  test.each([
    [2.6, 4, 0, 3],
    [8.4, 4, 4, 8],
    [8.5, 4, 5, 9],
    [300.2, 4, 296, 300],
    [0.5, 4, 0, 1],
  ])('at bar %f, of %i bars, keeps [%i, %i)', (bar, length, from, to) => {
    expect(keep(bar, length, open).plan).toMatchObject({ passes: [{ startBar: from, endBar: to, over: true }] });
  });

  test('keeps whole bars that were heard and are held, up to the nearest line, or says why not', () => {
    const [zero, one] = [bench.at(0), bench.at(1)];
    const bar = one - zero;
    fc.assert(
      fc.property(
        fc.integer({ min: -2 * bar, max: 400 * bar }),
        fc.integer({ min: 1, max: 64 }),
        fc.integer({ min: 0, max: 420 * bar }),
        (position, length, oldest) => {
          const heard = frames(zero + position);
          const context = bench.context({ ...open, oldest: frames(oldest) });
          const { plan, effects } = step(over(), { type: 'keep-that', heard, bars: bars(length) }, context);
          const pass = plan.type === 'running' ? plan.passes[0] : undefined;
          const end = Math.floor(position / bar + 0.5);
          if (pass === undefined) {
            const why = end < 1 ? 'no-whole-bar' : 'not-in-the-ring';
            expect(effects).toEqual([{ type: 'refuse', why }]);
            if (end >= 1) expect(zero + (end - 1) * bar).toBeLessThan(oldest);
            return;
          }
          expect(pass.endBar).toBe(end);
          expect(end - pass.startBar).toBeLessThanOrEqual(length);
          expect(zero + pass.startBar * bar).toBeGreaterThanOrEqual(Math.min(oldest, zero + (end - 1) * bar));
          const more = pass.startBar > Math.max(0, end - length);
          if (more) expect(zero + (pass.startBar - 1) * bar).toBeLessThan(oldest);
        },
      ),
    );
  });
});

describe('over a loop', () => {
  test.each([
    // Bars that are there, bars of the loop, bars that go round with it.
    [3, 4, 2],
    [1, 4, 1],
    [4, 4, 4],
    [7, 4, 4],
    [9, 4, 8],
    [5, 6, 3],
    [4, 6, 3],
    [6, 7, 1],
    [63, 64, 32],
  ])('%i bars over a loop of %i are kept as %i', (there, loop, kept) => {
    expect(fittingBars(there, bars(loop))).toBe(kept);
  });

  test('what is kept divides the loop or is some of it, and no more would', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 64 }), fc.integer({ min: 1, max: 64 }), (there, loop) => {
        const fits = (count: number): boolean => loop % count === 0 || count % loop === 0;
        const kept = fittingBars(there, bars(loop));
        expect(fits(kept)).toBe(true);
        for (let more = kept + 1; more <= there; more++) expect(fits(more)).toBe(false);
      }),
    );
  });

  test('the last bars are kept, and how many were left out is said', () => {
    expect(told(keep(3.1, 4))).toBe('running 1-3: begin 7, keep bars as 7, 1 left out');
    expect(told(keep(9, 4))).toBe('running 5-9: begin 7, keep bars as 7, 0 left out');
  });
});

describe('over the click alone', () => {
  const click = { hasLayers: false, ...open };

  test('the phrase begins where it begins: its line becomes the first', () => {
    const { plan } = keep(6.1, 4, click);
    expect(plan).toMatchObject({ origin: bench.at(2), passes: [{ startBar: 0, endBar: 4, over: false }] });
  });

  test('lines stay where bars are not alike', () => {
    const plan = over();
    const [three, four] = [bench.at(3), bench.at(4)];
    // The third bar is a beat shorter than the others.
    const short = (bar: number): number => (bar >= 3 ? 30_000 : 0);
    const grid = { ...methodsOf(), lineOf: (bar: number) => frames(bench.grid.lineOf(bars(bar)) - short(bar)) };
    const context = bench.context({ ...click, grid });
    const result = step(plan, { type: 'keep-that', heard: frames(four - 30_000), bars: bars(2) }, context);
    expect(three).toBeLessThan(four);
    expect(result.plan).toMatchObject({ origin: plan.origin, passes: [{ startBar: 2, endBar: 4 }] });
  });

  function methodsOf() {
    return {
      placeOf: (frame: ReturnType<typeof frames>) => bench.grid.placeOf(frames(frame + 30_000)),
      beatsOf: (bar: ReturnType<typeof bars>) => bench.grid.beatsOf(bar),
    };
  }
});

describe('where passes have been kept up to a line', () => {
  const upTo = (bar: number) => ({ keptUpTo: bench.at(bar) });

  test.each([
    // Kept up to, the player's bar, what goes round with a loop of four of what was played since.
    [4, 5.05, 'running 4-5: begin 7, keep bars as 7, 0 left out'],
    [4, 6.2, 'running 4-6: begin 7, keep bars as 7, 0 left out'],
    [4, 7.3, 'running 5-7: begin 7, keep bars as 7, 1 left out'],
    [4, 12, 'running 8-12: begin 7, keep bars as 7, 0 left out'],
    [4, 4.4, 'running: refuse kept-already'],
    [4, 3.6, 'running: refuse kept-already'],
    // A loop that was played without a tempo was closed beside its line.
    [3.9, 5.05, 'running 4-5: begin 7, keep bars as 7, 0 left out'],
    [4.1, 5.05, 'running 4-5: begin 7, keep bars as 7, 0 left out'],
    // Before these bars began to count.
    [-3, 2.1, 'running 0-2: begin 7, keep bars as 7, 0 left out'],
  ])('line %f, at bar %f no bar is kept twice: %s', (kept, bar, does) => {
    expect(told(keep(bar, 4, upTo(kept)))).toBe(does);
  });

  test('what is to be kept begins at that line or later, and where nothing is left it says so', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 80 }),
        fc.double({ min: 0.5, max: 100, noNaN: true }),
        fc.integer({ min: 1, max: 64 }),
        (kept, bar, length) => {
          const { plan, effects } = keep(bar, length, { ...upTo(kept), ...open });
          const pass = plan.type === 'running' ? plan.passes[0] : undefined;
          if (pass !== undefined) {
            expect(pass.startBar).toBeGreaterThanOrEqual(kept);
            expect(pass.endBar).toBeGreaterThan(pass.startBar);
          } else {
            expect(effects).toEqual([{ type: 'refuse', why: 'kept-already' }]);
            expect(bar).toBeLessThan(kept + 0.5 + 1e-5);
          }
        },
      ),
    );
  });
});

describe('while a pass is still coming in', () => {
  const closed = over(bench.pass(2, 4, 8));

  test('its bars are kept already', () => {
    expect(told(keep(8.1, 4, {}, closed))).toBe('running 4-8: refuse kept-already');
  });

  test('what was played after it is kept beside it, and no bar twice', () => {
    expect(told(keep(8.6, 4, {}, closed))).toBe('running 4-8 8-9: begin 7, keep bars as 7, 0 left out');
  });
});
