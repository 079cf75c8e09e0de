import { describe, expect, test } from 'vitest';
import { bars, frames } from '../../../src/core/units/index.js';
import type { Snapshot } from '../../../src/rehearsal/snapshot.js';
import { barsToDraw, isClosed, isFilling, marksIn, stavesOf } from '../../../src/ui/pages/staves.js';
import { inkOf, layerNamed, READY, snapshotOf, type Evening } from '../support/harbour-ferry.js';

const drawn = (evening: Evening, change: Partial<Snapshot>): readonly [number, boolean] => {
  const snapshot = snapshotOf(evening, change);
  const section = snapshot.song.sections[0]!;
  return [barsToDraw(snapshot, section), isClosed(snapshot, section)];
};
const RECORDING = { ...READY, state: 'recording', next: 'recording-goes-on', pressMeans: 'close-the-loop' } as const;

describe('bars are drawn', () => {
  test('as many as the section has', () => {
    expect(drawn({ bars: 7 }, {})).toEqual([7, true]);
  });

  test.each([
    [1, 4],
    [4, 4],
    [5, 8],
    [12, 12],
    [13, 16],
  ])('in lines of four while the length is open: in bar %d, %d', (bar, expected) => {
    expect(drawn({ bars: null }, { transport: { ...RECORDING, bar } })).toEqual([expected, false]);
  });

  test('in one line of four before anything was played', () => {
    expect(drawn({ bars: null }, {})).toEqual([4, false]);
  });

  test('not by the bars of the count-in', () => {
    const transport = { ...READY, state: 'counting-in', bar: 1, bars: 2 } as const;
    expect(drawn({ bars: null }, { transport })).toEqual([4, false]);
  });

  test('to its end once a first pass is about to close', () => {
    expect(drawn({ bars: null }, { transport: { ...RECORDING, bar: 3, bars: 3 } })).toEqual([3, true]);
  });
});

describe('staves', () => {
  const names = (evening: Evening, change: Partial<Snapshot> = {}): readonly string[] => {
    const snapshot = snapshotOf(evening, change);
    return stavesOf(snapshot, snapshot.song.sections[0]!).map((stave) => `${stave.name}${stave.live ? ' (live)' : ''}`);
  };

  test('are the layers when nothing is recorded', () => {
    expect(
      names({
        layers: [
          ['Drums', 'drums'],
          ['Bass', 'bass'],
        ],
      }),
    ).toEqual(['Drums', 'Bass']);
  });

  test('are one, for the first layer, before anything was played', () => {
    expect(names({})).toEqual(['the first layer']);
  });

  test.each(['counting-in', 'waiting', 'recording', 'layering'] as const)(
    'end with the part in hand while %s',
    (state) => {
      const transport = { ...RECORDING, state, bar: 1, bars: 4, layerName: 'Shaker' };
      expect(names({ layers: [['Drums', 'drums']] }, { transport })).toEqual(['Drums', 'Shaker (live)']);
    },
  );

  test('carry the growing ink of the pass', () => {
    const passInk = inkOf('shaker', 4, 1.5);
    const snapshot = snapshotOf({}, { passInk, transport: { ...RECORDING, bar: 2 } });
    expect(stavesOf(snapshot, snapshot.song.sections[0]!).at(-1)?.ink).toBe(passInk);
  });

  test('are unsure where the take in use may have been moved', () => {
    const [take] = layerNamed('Bass').takes;
    const alignment = [...take!.alignment, { ...take!.alignment[0]!, fromBar: bars(2), sure: false }];
    const snapshot = snapshotOf({ layers: [['Bass', 'bass', { takes: [{ ...take!, alignment }] }]] });
    expect(stavesOf(snapshot, snapshot.song.sections[0]!)[0]?.unsure).toBe(true);
  });
});

test.each([
  ['stopped', false],
  ['counting-in', false],
  ['playing', false],
  ['waiting', false],
  ['recording', true],
  ['layering', true],
] as const)('while %s something is written down: %s', (state, expected) => {
  expect(isFilling(snapshotOf({}, { transport: { ...READY, state } }))).toBe(expected);
});

describe('marks', () => {
  const marked = (length: number | null): unknown => {
    const plain = layerNamed('Bass').takes[0]!;
    const mark = { duringPass: true, kind: 'gaps-together', shift: null, how: 'unknown', within: frames(0) } as const;
    const marks = [2, 10].map((bar) => ({ ...mark, bar: bars(bar), lastBar: bars(bar) }));
    const take = { ...plain, bars: bars(16), marks };
    const snapshot = snapshotOf({ bars: length, layers: [['Bass', 'bass', { takes: [take] }]] });
    return marksIn(snapshot, snapshot.song.sections[0]!)?.marks.map((each) => [each.mark.bar, each.bar, each.round]);
  };

  test.each([
    [
      8,
      [
        [2, 2, 1],
        [10, 2, 2],
      ],
    ],
    [
      16,
      [
        [2, 2, 1],
        [10, 10, 1],
      ],
    ],
    [
      null,
      [
        [2, 2, 1],
        [10, 10, 1],
      ],
    ],
  ])('of 16 bars over a section of %s stand where they sound, and keep the bar of the take', (length, expected) => {
    expect(marked(length)).toEqual(expected);
  });

  test('are none where nothing is marked', () => {
    const snapshot = snapshotOf({ layers: [['Bass', 'bass']] });
    expect(marksIn(snapshot, snapshot.song.sections[0]!)).toBeNull();
  });
});
