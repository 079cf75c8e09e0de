import { describe, expect, test } from 'vitest';
import { tempoWord } from '../../../src/core/chart/tempo-words.js';
import { defaultMetre } from '../../../src/core/meter/metres.js';
import { bpm } from '../../../src/core/units/index.js';

const QUARTER = { num: 1, den: 4 } as const;

// Common ranges from several tables that disagree; there is no standard.
describe('the word for quarters in 4/4', () => {
  test.each([
    [39.9, null],
    [40, 'Largo'],
    [59, 'Largo'],
    [60, 'Larghetto'],
    [66, 'Adagio'],
    [76, 'Andante'],
    [96, 'Andante'],
    [108, 'Moderato'],
    [120, 'Allegro'],
    [168, 'Presto'],
    [200, 'Presto'],
    [201, null],
  ])('at %d is %s', (tempo, word) => {
    expect(tempoWord({ bpm: bpm(tempo), mark: QUARTER }, defaultMetre(4, 4).metre)).toBe(word);
  });
});

describe('the word goes by felt beats, not by what the mark counts:', () => {
  test.each([
    ['dotted quarters at 80 in 6/8', 80, { num: 3, den: 8 }, defaultMetre(6, 8).metre, 'Andante'],
    ['quarters at 120 in 6/8, felt at 80', 120, QUARTER, defaultMetre(6, 8).metre, 'Andante'],
    ['eighths at 210 in 7/8, felt at 90', 210, { num: 1, den: 8 }, defaultMetre(7, 8).metre, 'Andante'],
    ['quarters at 180 in a waltz in one, felt at 60', 180, QUARTER, { num: 3, den: 4, groups: [3] }, 'Larghetto'],
  ] as const)('%s', (_, tempo, mark, metre, word) => {
    expect(tempoWord({ bpm: bpm(tempo), mark }, metre)).toBe(word);
  });
});
