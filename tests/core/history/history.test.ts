import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { History, StoredHistory } from '../../../src/core/history/history.js';
import { openHistory } from '../../../src/core/history/open-history.js';
import { nextToPutBack, nextToTakeBack, putBack, record, songOf, takeBack } from '../../../src/core/history/steps.js';
import { applyEdit } from '../../../src/core/song/apply-edit.js';
import { NO_SEAM } from '../../../src/core/seam/seam.js';
import { type Edit, isSilent } from '../../../src/core/song/edits.js';
import { songFault } from '../../../src/core/song/invariants.js';
import { SongError } from '../../../src/core/song/song-error.js';
import { bars, bpm } from '../../../src/core/units/index.js';
import { AT } from './arbitraries.js';
import { deepFrozen, editMakers, type EditMaker, ferrySong, layerNamed, seamMakers } from '../song/arbitraries.js';

const opened = (stored: StoredHistory): History => {
  const result = openHistory(stored);
  if (!result.ok) throw new Error(`Got ${result.reason} when expected a history.`);
  return result.value;
};
const fresh = (): History => opened({ base: ferrySong(), edits: [], cursor: 0 });
const layered = (): History => {
  const layers = fc.sample(layerNamed, { numRuns: 3, seed: 5 }).map((make, index) => make(`layer-${index}`));
  const base = ferrySong();
  const sections = base.sections.map((section) => ({ ...section, bars: bars(4), layers }));
  return opened({ base: { ...base, sections }, edits: [], cursor: 0 });
};
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
    { weight: 2, arbitrary: seamMakers },
    { weight: 2, arbitrary: fc.constant('take-back' as const) },
    { weight: 1, arbitrary: fc.constant('put-back' as const) },
  ),
  { maxLength: 40 },
);

/** Walks the steps, showing each history to `look` with the one before it. */
function walk(
  path: readonly Step[],
  look: (before: History, after: History, step: Step) => void,
  from: () => History = fresh,
): History {
  return path.reduce<History>((before, step, index) => {
    const after = deepFrozen(stepFrom(before, step, index));
    look(before, after, step);
    return after;
  }, deepFrozen(from()));
}

const newest = ({ edits, cursor }: History): Edit => edits[cursor - 1]!.edit;

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
    const edit: Edit = { type: 'add-layers', section, layers: [layer], sectionBars: bars(4) };
    expect(() => record(fresh(), edit, AT)).toThrow(SongError);
  });
});

describe('a silent edit', () => {
  const section = ferrySong().sections[0]!.id;
  const layer = fc.sample(layerNamed, { numRuns: 1, seed: 3 })[0]!('layer');
  const take = layer.takes[0]!;
  const add: Edit = { type: 'add-layers', section, layers: [layer], sectionBars: bars(4) };
  const heard: Edit = { type: 'set-seam', section, layer: layer.id, take: take.id, seam: NO_SEAM };
  const decided = (history: History) => songOf(history).sections[0]?.layers[0]?.takes[0]?.seam.decided;

  test('goes and comes with the step before it, and is not what is named', () => {
    const history = recorded(fresh(), tempo(80), add, heard);
    expect(nextToTakeBack(history)).toBe(add);
    const back = takeBack(history);
    expect(back.cursor).toBe(1);
    expect(nextToPutBack(back)).toBe(add);
    expect(putBack(back).cursor).toBe(3);
    expect(decided(putBack(back))).toEqual(NO_SEAM);
  });

  test('that comes later goes with whatever step is the last', () => {
    const history = recorded(fresh(), add, retitle('Slack water'), heard);
    expect(nextToTakeBack(history)).toEqual(retitle('Slack water'));
    expect(decided(takeBack(history))).toBe(take.seam.decided);
    expect(decided(putBack(takeBack(history)))).toEqual(NO_SEAM);
  });

  test('waits while something could be put back', () => {
    const history = takeBack(recorded(fresh(), add, retitle('Slack water')));
    expect(recorded(history, heard)).toBe(history);
    expect(decided(recorded(putBack(history), heard))).toEqual(NO_SEAM);
  });

  test('alone is nothing to take back', () => {
    const [, song] = recorded(fresh(), add).songs;
    const history = recorded(opened({ base: song!, edits: [], cursor: 0 }), heard);
    expect(history.cursor).toBe(1);
    expect(nextToTakeBack(history)).toBeNull();
    expect(takeBack(history)).toBe(history);
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
          if (typeof step === 'string' || after === before || isSilent(newest(after))) return;
          expect(songOf(takeBack(after))).toBe(songOf(before));
          expect(songOf(putBack(takeBack(after)))).toBe(songOf(after));
        });
      }),
    );
  });

  test('a silent edit is taken back and put back with the step before it, and drops nothing that could be put back', () => {
    let silent = 0;
    fc.assert(
      fc.property(steps, (path) => {
        walk(
          path,
          (before, after, step) => {
            if (typeof step === 'string') return;
            if (after === before || !isSilent(newest(after))) return;
            silent += 1;
            expect(nextToPutBack(before)).toBeNull();
            expect(nextToTakeBack(after)).toBe(nextToTakeBack(before));
            const back = takeBack(after);
            if (nextToTakeBack(after) === null) expect(back).toBe(after);
            else expect(songOf(back)).toBe(songOf(takeBack(before)));
            expect(songOf(putBack(back))).toBe(songOf(after));
          },
          layered,
        );
      }),
    );
    expect(silent).toBeGreaterThan(50);
  });

  test('taken back to the end, nothing is left but what was silent from the first; put back to the end, all is', () => {
    fc.assert(
      fc.property(steps, (path) => {
        let history = walk(path, () => undefined, layered);
        while (nextToPutBack(history) !== null) history = putBack(history);
        const last = history;
        while (nextToTakeBack(history) !== null) history = takeBack(history);
        expect(history.edits.slice(0, history.cursor).every(({ edit }) => isSilent(edit))).toBe(true);
        while (nextToPutBack(history) !== null) history = putBack(history);
        expect(songOf(history)).toBe(songOf(last));
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
    type: 'add-layers',
    section: ferrySong().sections[0]!.id,
    layers: [layer],
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
    ['a layer that came twice', { ...stored(history), edits: journal(addLayer, addLayer), cursor: 0 }, 'broken-part'],
    [
      'a layer without takes',
      { ...stored(history), edits: journal({ ...addLayer, layers: [{ ...layer, takes: [] }] }), cursor: 0 },
      'broken-part',
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
