import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { History, StoredHistory } from '../../../src/core/history/history.js';
import { openHistory } from '../../../src/core/history/open-history.js';
import { nextToPutBack, nextToTakeBack, putBack, record, songOf, takeBack } from '../../../src/core/history/steps.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import type { Edit } from '../../../src/core/song/edits.js';
import { songFault } from '../../../src/core/song/invariants.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { bars, bpm } from '../../../src/core/units/index.js';
import { AT } from './arbitraries.js';
import { deepFrozen, editMakers, type EditMaker, ferrySong, layerNamed } from '../song/arbitraries.js';

const opened = (stored: StoredHistory): History => {
  const result = openHistory(stored);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a history.`);
  return result.value;
};
const fresh = (): History => opened({ base: ferrySong(), edits: [], cursor: 0 });
const stored = ({ songs, edits, cursor }: History): StoredHistory => ({ base: songs[0]!, edits, cursor });
const retitle = (title: string): Edit => ({ type: 'retitle', title });
const tempo = (value: number): Edit => ({ type: 'set-tempo', bpm: bpm(value) });

function recorded(history: History, ...edits: readonly Edit[]): History {
  return edits.reduce((before, edit) => {
    const result = record(before, edit, AT);
    if (!result.ok) throw new Error(`Got ${result.reason} when expected a history.`);
    return result.value;
  }, history);
}

type Step = EditMaker | 'take-back' | 'put-back';
const steps: fc.Arbitrary<readonly Step[]> = fc.array(
  fc.oneof(
    { weight: 4, arbitrary: editMakers },
    { weight: 2, arbitrary: fc.constant('take-back' as const) },
    { weight: 1, arbitrary: fc.constant('put-back' as const) },
  ),
  { maxLength: 40 },
);

/** Walks the steps, showing each history to `look` with the one before it. */
function walk(path: readonly Step[], look: (before: History, after: History, step: Step) => void): History {
  return path.reduce<History>((before, step, index) => {
    const after = deepFrozen(stepFrom(before, step, index));
    look(before, after, step);
    return after;
  }, deepFrozen(fresh()));
}

function stepFrom(before: History, step: Step, index: number): History {
  if (step === 'take-back') return takeBack(before);
  if (step === 'put-back') return putBack(before);
  const result = record(before, step(songOf(before), index), AT);
  return result.ok ? result.value : before;
}

describe('recording an edit', () => {
  test('journals it with its number and its time, and shows the song after it', () => {
    const history = recorded(fresh(), retitle('Slack water'), tempo(92));
    expect(history.edits).toEqual([
      { seq: 1, edit: retitle('Slack water'), at: AT },
      { seq: 2, edit: tempo(92), at: AT },
    ]);
    expect(history.cursor).toBe(2);
    expect(songOf(history)).toMatchObject({ title: 'Slack water', tempo: { bpm: 92 } });
  });

  test('drops what had been taken back', () => {
    const history = recorded(takeBack(takeBack(recorded(fresh(), tempo(80), tempo(90), tempo(100)))), tempo(70));
    expect(history.edits.map(({ edit }) => edit)).toEqual([tempo(80), tempo(70)]);
    expect(history.songs.map((song) => song.tempo.bpm)).toEqual([96, 80, 70]);
  });

  test('that changes nothing gives the same history back, with what had been taken back still there', () => {
    const history = takeBack(recorded(fresh(), tempo(80), tempo(90)));
    expect(recorded(history, tempo(80))).toBe(history);
  });

  test('that is refused gives the reason', () => {
    expect(record(fresh(), tempo(19), AT)).toEqual({ ok: false, reason: 'tempo-out-of-range' });
  });

  test('that is a mistake of the program throws', () => {
    const layer = { ...fc.sample(layerNamed, 1)[0]!('x'), takes: [] };
    const section = ferrySong().sections[0]!.id;
    const edit: Edit = { type: 'add-layer', section, layer, sectionBars: bars(4) };
    expect(() => record(fresh(), edit, AT)).toThrow(SongError);
  });
});

describe('the ends of a history', () => {
  test('have nothing to take back and nothing to put back', () => {
    const history = fresh();
    expect(takeBack(history)).toBe(history);
    expect(putBack(history)).toBe(history);
    expect(nextToTakeBack(history)).toBeNull();
    expect(nextToPutBack(history)).toBeNull();
  });

  test('are reached through the edits in order', () => {
    const history = takeBack(recorded(fresh(), tempo(80), tempo(90)));
    expect(nextToTakeBack(history)).toEqual(tempo(80));
    expect(nextToPutBack(history)).toEqual(tempo(90));
  });

  test('a cursor beyond them is a mistake of the program', () => {
    expect(() => songOf({ ...fresh(), cursor: 1 })).toThrow(SongError);
  });
});

describe('whatever is done, taken back and put back', () => {
  test('taking back after doing is as if nothing had been done, and putting back is as if it had not been taken back', () => {
    fc.assert(
      fc.property(steps, (path) => {
        walk(path, (before, after, step) => {
          if (typeof step === 'string' || after === before) return;
          expect(songOf(takeBack(after))).toBe(songOf(before));
          expect(songOf(putBack(takeBack(after)))).toBe(songOf(after));
        });
      }),
    );
  });

  test('the song holds together, and so does the history', () => {
    fc.assert(
      fc.property(steps, (path) => {
        walk(path, (_, { songs, edits, cursor }) => {
          expect(songs).toHaveLength(edits.length + 1);
          expect(edits.map(({ seq }) => seq)).toEqual(edits.map((_each, index) => index + 1));
          expect(cursor).toBeGreaterThanOrEqual(0);
          expect(cursor).toBeLessThanOrEqual(edits.length);
          expect(songs.map(songFault)).toEqual(songs.map(() => null));
        });
      }),
    );
  });

  test('a refused edit changes nothing', () => {
    fc.assert(
      fc.property(steps, editMakers, (path, make) => {
        const history = walk(path, () => undefined);
        const edit = make(songOf(history), path.length);
        const result = record(history, edit, AT);
        const applied = applyEdit(songOf(history), edit);
        expect(result.ok).toBe(applied.ok);
        // The history is frozen to its last leaf: that nothing threw says that nothing in it was changed.
        if (!result.ok) expect(result).toEqual(applied);
      }),
    );
  });

  test('base and journal replayed give the live history, song for song', () => {
    fc.assert(
      fc.property(steps, (path) => {
        const history = walk(path, () => undefined);
        const replayed = opened(stored(history));
        expect(replayed).toEqual(history);
        expect(songOf(replayed)).toEqual(songOf(history));
      }),
    );
  });
});

describe('opening a stored history', () => {
  const history = recorded(fresh(), tempo(80), tempo(90));
  const layer = fc.sample(layerNamed, 1)[0]!('layer');
  const addLayer: Edit = {
    type: 'add-layer',
    section: ferrySong().sections[0]!.id,
    layer,
    sectionBars: layer.takes[0]!.bars,
  };
  const journal = (...edits: readonly Edit[]) => edits.map((edit, index) => ({ seq: index + 1, edit, at: AT }));

  test.each<[string, StoredHistory, string]>([
    ['a base that cannot be', { ...stored(history), base: { ...ferrySong(), sections: [] } }, 'broken-base'],
    ['a cursor before the base', { ...stored(history), cursor: -1 }, 'broken-journal'],
    ['a cursor beyond the journal', { ...stored(history), cursor: 3 }, 'broken-journal'],
    ['a cursor between two edits', { ...stored(history), cursor: 0.5 }, 'broken-journal'],
    ['a journal with a hole', { ...stored(history), edits: history.edits.slice(1), cursor: 1 }, 'broken-journal'],
    ['a journal out of order', { ...stored(history), edits: history.edits.toReversed() }, 'broken-journal'],
    ['an edit that does not apply', { ...stored(history), edits: journal(tempo(9)), cursor: 0 }, 'tempo-out-of-range'],
    ['a layer that came twice', { ...stored(history), edits: journal(addLayer, addLayer), cursor: 0 }, 'broken-layer'],
    [
      'a layer without takes',
      { ...stored(history), edits: journal({ ...addLayer, layer: { ...layer, takes: [] } }), cursor: 0 },
      'broken-layer',
    ],
  ])('refuses %s', (_, damaged, reason) => {
    expect(openHistory(damaged)).toEqual({ ok: false, reason });
  });

  test('puts back what was taken back before it was stored', () => {
    const reopened = opened(stored(takeBack(history)));
    expect(songOf(reopened).tempo.bpm).toBe(80);
    expect(songOf(putBack(reopened)).tempo.bpm).toBe(90);
  });
});
