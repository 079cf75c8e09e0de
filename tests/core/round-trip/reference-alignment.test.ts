import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { alignByReference } from '../../../src/core/round-trip/reference-alignment.js';
import { frames } from '../../../src/core/units/index.js';

const read = (...roundTrips: readonly (number | null)[]) =>
  roundTrips.map((roundTrip, index) => ({
    index,
    roundTrip: roundTrip === null ? null : frames(roundTrip),
    prominence: roundTrip === null ? 0 : 40,
  }));
const trip = (fromBar: number, roundTrip: number, sure = true) => ({ fromBar, roundTrip, how: 'cable', sure });

describe('a pass by its reference', () => {
  test.each([
    ['is sure throughout where all lines agree', [480, 480, 480], [trip(0, 480)], []],
    [
      'is unsure in the bar in which it moved, and right after it',
      [480, 480, 792, 792],
      [trip(0, 480), trip(1, 480, false), trip(2, 792)],
      [{ bar: 1, shift: 312 }],
    ],
    [
      'is unsure where the reference was lost, with what was read last',
      [480, null, 480, 480],
      [trip(0, 480, false), trip(2, 480)],
      [
        { bar: 0, shift: null },
        { bar: 1, shift: null },
      ],
    ],
    [
      'takes what was read first where it was lost at the beginning',
      [null, 500, 500],
      [trip(0, 500, false), trip(1, 500)],
      [{ bar: 0, shift: null }],
    ],
    ['says nothing where it never came back', [null, null, null], [], []],
  ])('%s', (_what, roundTrips, trips, marks) => {
    expect(alignByReference(read(...roundTrips))).toEqual({ trips, marks });
  });

  test('is called sure only where both lines of a bar say the same', () => {
    const anyRead = fc.array(fc.option(fc.constantFrom(480, 481, 5000), { nil: null }), {
      minLength: 2,
      maxLength: 12,
    });
    fc.assert(
      fc.property(anyRead, (roundTrips) => {
        const { trips } = alignByReference(read(...roundTrips));
        for (let bar = 0; bar + 1 < roundTrips.length; bar++) {
          const held = trips.findLast(({ fromBar }) => fromBar <= bar);
          const [here, next] = [roundTrips[bar] ?? null, roundTrips[bar + 1] ?? null];
          expect(held?.sure ?? false).toBe(here !== null && here === next);
          if (here !== null) expect(held?.roundTrip).toBe(here);
        }
      }),
    );
  });
});
