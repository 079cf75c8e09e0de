import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { Metre, PulseValue } from '../../../src/core/meter/metre.js';
import {
  beatMask,
  checkMetre,
  defaultMetre,
  feltBeats,
  isPulseValue,
  markChoices,
  metreName,
  MOST_PULSES,
  parseGroups,
  PULSE_VALUES,
} from '../../../src/core/meter/metres.js';
import { QuantityError } from '../../../src/core/units/index.js';
import { anyMetre, metre } from './given.js';

const anyNum = fc.integer({ min: 1, max: MOST_PULSES });
const anyDen = fc.constantFrom(...PULSE_VALUES);
const written = ({ num, den }: { num: number; den: number }) => `${num}/${den}`;

describe('defaultMetre', () => {
  // How metres are felt and which note a tempo counts in them: common practice, no source. That the beat of a compound
  // metre is the dotted note: Standard MIDI Files 1.0, time signature, own example of 6/8 clicked every three eighths.
  test.each<[number, PulseValue, string, string]>([
    [2, 4, '1+1', '1/4'],
    [3, 4, '1+1+1', '1/4'],
    [4, 4, '1+1+1+1', '1/4'],
    [5, 4, '1+1+1+1+1', '1/4'],
    [7, 4, '1+1+1+1+1+1+1', '1/4'],
    [6, 4, '1+1+1+1+1+1', '1/4'],
    [2, 2, '1+1', '1/2'],
    [3, 2, '1+1+1', '1/2'],
    [1, 1, '1', '1/1'],
    [3, 8, '1+1+1', '1/8'],
    [4, 8, '1+1+1+1', '1/8'],
    [6, 8, '3+3', '3/8'],
    [9, 8, '3+3+3', '3/8'],
    [12, 8, '3+3+3+3', '3/8'],
    [6, 16, '3+3', '3/16'],
    [5, 8, '3+2', '1/8'],
    [7, 8, '2+2+3', '1/8'],
    [8, 8, '3+3+2', '1/8'],
    [10, 8, '2+2+3+3', '1/8'],
    [11, 8, '3+3+3+2', '1/8'],
    [13, 16, '2+2+3+3+3', '1/16'],
  ])('%i/%i is felt as %s, its tempo counts %s', (num, den, groups, mark) => {
    const { metre: made, mark: usual } = defaultMetre(num, den);
    expect(made).toEqual({ num, den, groups: groups.split('+').map(Number) });
    expect(written(usual)).toBe(mark);
  });

  test('every metre it makes passes the check', () => {
    fc.assert(
      fc.property(anyNum, anyDen, (num, den) => {
        const { metre: made } = defaultMetre(num, den);
        expect(checkMetre(made)).toEqual({ ok: true, value: made });
      }),
    );
  });

  test.each([0, -1, 33, 2.5, Number.NaN])('refuses %f pulses as a mistake of the programmer', (num) => {
    expect(() => defaultMetre(num, 4)).toThrow(QuantityError);
  });
});

describe('checkMetre', () => {
  test.each<[string, Metre]>([
    ['one pulse', { num: 1, den: 1, groups: [1] }],
    ['32 pulses whose last beat is long', { num: 32, den: 32, groups: [1, 31] }],
    ['uneven groups in any order', { num: 7, den: 8, groups: [3, 2, 2] }],
    ['groups of more than three', { num: 9, den: 8, groups: [4, 5] }],
  ])('passes %s', (_, good) => {
    expect(checkMetre(good)).toEqual({ ok: true, value: good });
  });

  const refused = { ok: false, reason: 'metre-out-of-range' };
  test.each<[string, Metre]>([
    ['no pulses', { num: 0, den: 4, groups: [] }],
    ['33 pulses', { num: 33, den: 4, groups: [33] }],
    ['part of a pulse', { num: 3.5, den: 4, groups: [3.5] }],
    ['a note value that no notation has', { num: 4, den: 6 as PulseValue, groups: [1, 1, 1, 1] }],
    ['no groups', { num: 4, den: 4, groups: [] }],
    ['groups that do not fill the bar', { num: 7, den: 8, groups: [2, 2, 2] }],
    ['groups that overfill it', { num: 7, den: 8, groups: [3, 3, 2] }],
    ['an empty group', { num: 4, den: 4, groups: [2, 0, 2] }],
    ['a negative group', { num: 4, den: 4, groups: [5, -1] }],
    ['parts of pulses as groups', { num: 4, den: 4, groups: [1.5, 2.5] }],
    ['a felt beat on the 32nd pulse: the mask has 31 bits', { num: 32, den: 8, groups: [31, 1] }],
  ])('refuses %s', (_, bad) => {
    expect(checkMetre(bad)).toEqual(refused);
  });

  test.each([1, 2, 4, 8, 16, 32])('%i is the value of a pulse', (value) => {
    expect(isPulseValue(value)).toBe(true);
  });
  test.each([0, 3, 64, -4, 0.5, Number.NaN])('%f is not the value of a pulse', (value) => {
    expect(isPulseValue(value)).toBe(false);
  });
});

describe('parseGroups', () => {
  test.each([
    ['2+2+3', [2, 2, 3]],
    [' 3 + 2 ', [3, 2]],
    ['4', [4]],
    ['16+16', [16, 16]],
  ])('reads "%s"', (text, groups) => {
    expect(parseGroups(text)).toEqual({ ok: true, value: groups });
  });

  test.each(['', ' ', '+', '2+', '+2', '2++3', '2+0', '2-3', '2.5+2', '2+x', '33', '16+17', '1e1', '٣+٢'])(
    'does not read "%s"',
    (text) => {
      expect(parseGroups(text)).toEqual({ ok: false, reason: 'groups-unreadable' });
    },
  );

  test('reads back the groups of every metre', () => {
    fc.assert(
      fc.property(anyMetre, ({ groups }) => {
        expect(parseGroups(groups.join('+'))).toEqual({ ok: true, value: groups });
      }),
    );
  });
});

describe('feltBeats', () => {
  const starts = (given: Metre) => feltBeats(given).map(({ start }) => start);
  const accents = (given: Metre) => feltBeats(given).map(({ accent }) => accent);

  // Common practice, no source.
  test.each<[string, Metre, readonly number[]]>([
    ['4/4 in four', metre(4, 4), [0, 1, 2, 3]],
    ['4/4 in two', metre(4, 4, 2, 2), [0, 2]],
    ['a fast waltz in one', metre(3, 4, 3), [0]],
    ['6/8 in two', metre(6, 8), [0, 3]],
    ['6/8 in six', metre(6, 8, 1, 1, 1, 1, 1, 1), [0, 1, 2, 3, 4, 5]],
    ['12/8 in four', metre(12, 8), [0, 3, 6, 9]],
    ['7/8 as 2+2+3', metre(7, 8), [0, 2, 4]],
    ['7/8 as 3+2+2', metre(7, 8, 3, 2, 2), [0, 3, 5]],
    ['5/8 as 2+3', metre(5, 8, 2, 3), [0, 2]],
    ['8/8 as 3+3+2', metre(8, 8), [0, 3, 6]],
    ['5/4 in five', metre(5, 4), [0, 1, 2, 3, 4]],
    ['5/4 as 3+2, still in five', metre(5, 4, 3, 2), [0, 1, 2, 3, 4]],
    ['6/4 in two', metre(6, 4, 3, 3), [0, 3]],
  ])('%s', (_, given, expected) => {
    expect(starts(given)).toEqual(expected);
  });

  test('uneven groups of quarters are accents inside the bar', () => {
    expect(accents(metre(5, 4, 3, 2))).toEqual(['bar', 'none', 'none', 'group', 'none']);
    expect(accents(metre(5, 4, 2, 3))).toEqual(['bar', 'none', 'group', 'none', 'none']);
    expect(accents(metre(7, 4, 2, 2, 3))).toEqual(['bar', 'none', 'group', 'none', 'group', 'none', 'none']);
  });

  test('where the groups are the beats, only the bar has an accent', () => {
    expect(accents(metre(7, 8))).toEqual(['bar', 'none', 'none']);
    expect(accents(metre(4, 4))).toEqual(['bar', 'none', 'none', 'none']);
  });

  test('the beats of every metre fill the bar without gap or overlap', () => {
    fc.assert(
      fc.property(anyMetre, (given) => {
        let pulse = 0;
        for (const beat of feltBeats(given)) {
          expect(beat.start).toBe(pulse);
          pulse += beat.pulses;
        }
        expect(pulse).toBe(given.num);
      }),
    );
  });
});

describe('beatMask', () => {
  test.each<[Metre, number]>([
    [metre(4, 4), 0b1111],
    [metre(6, 8), 0b1001],
    [metre(7, 8), 0b0010101],
    [metre(5, 4, 3, 2), 0b11111],
    [metre(3, 4, 3), 0b1],
  ])('of %j is %i', (given, mask) => {
    expect(beatMask(given)).toBe(mask);
  });

  test('has exactly the bits of the felt beats, in 31 bits', () => {
    fc.assert(
      fc.property(anyMetre, (given) => {
        const mask = beatMask(given);
        const opening = feltBeats(given).map(({ start }) => start);
        expect(mask).toBeLessThan(2 ** 31);
        for (let bit = 0; bit < 31; bit++) expect((mask >> bit) & 1).toBe(opening.includes(bit) ? 1 : 0);
      }),
    );
  });
});

describe('markChoices', () => {
  test.each<[Metre, readonly string[]]>([
    [metre(4, 4), ['1/4', '1/2', '1/8']],
    [metre(4, 4, 2, 2), ['1/2', '1/4']],
    [metre(3, 4), ['1/4', '3/4', '1/8']],
    [metre(3, 4, 3), ['3/4', '1/4']],
    [metre(6, 8), ['3/8', '1/8', '1/4']],
    [metre(7, 8), ['1/8', '1/4', '3/8']],
    [metre(2, 2), ['1/2', '1/4', '1/1']],
    [metre(3, 1), ['1/1', '1/4', '1/2']],
    [metre(5, 4, 3, 2), ['1/4', '1/8']],
    [metre(10, 8, 5, 5), ['1/8', '1/4']],
    [metre(8, 16, 4, 4), ['1/4', '1/16']],
  ])('of %j are %j, the usual one first', (given, marks) => {
    expect(markChoices(given).map(written)).toEqual(marks);
  });

  test('are plain or dotted notes, each once, a quarter among them', () => {
    fc.assert(
      fc.property(anyMetre, (given) => {
        const marks = markChoices(given);
        for (const { num, den } of marks) {
          expect([1, 3]).toContain(num);
          expect(isPulseValue(den)).toBe(true);
        }
        expect(new Set(marks.map(written)).size).toBe(marks.length);
        expect(marks.map(written)).toContain('1/4');
      }),
    );
  });

  test('begin with the mark of the default metre', () => {
    fc.assert(
      fc.property(anyNum, anyDen, (num, den) => {
        const { metre: made, mark } = defaultMetre(num, den);
        expect(markChoices(made)[0]).toEqual(mark);
      }),
    );
  });
});

describe('metreName', () => {
  test.each<[Metre, string]>([
    [metre(4, 4), '4/4'],
    [metre(6, 8), '6/8'],
    [metre(7, 8), '7/8 (2+2+3)'],
    [metre(7, 8, 3, 2, 2), '7/8 (3+2+2)'],
    [metre(5, 4), '5/4'],
    [metre(5, 4, 3, 2), '5/4 (3+2)'],
    [metre(3, 4, 3), '3/4 (3)'],
    [metre(4, 4, 2, 2), '4/4 (2+2)'],
  ])('of %j is "%s"', (given, name) => {
    expect(metreName(given)).toBe(name);
  });
});
