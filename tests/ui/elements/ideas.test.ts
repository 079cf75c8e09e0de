import { expect, test } from 'vitest';
import '../../../src/ui/elements/ideas.js';
import { asId, type IdeaId, type RecordingId } from '../../../src/core/song/ids.js';
import type { Idea } from '../../../src/core/song/song.js';
import { frames } from '../../../src/core/units/index.js';
import { allByRole, byRole, textOf } from '../support/roles.js';
import { asksOf, staged } from '../support/stage.js';

const idea = (id: string, length: number): Idea => ({
  id: asId<IdeaId>(id),
  recording: asId<RecordingId>('recording'),
  channel: 0,
  start: frames(0),
  frames: frames(length),
  at: '2031-05-04T19:30:00.000Z',
});

test('says nothing where there is no idea', async () => {
  expect(textOf((await staged('mh-ideas')).shadowRoot!)).toBe('');
});

test('lists ideas by their length', async () => {
  const element = await staged('mh-ideas', { ideas: [idea('a', 576_000), idea('b', 30_000)], rate: 48_000 });
  expect(allByRole(element.shadowRoot!, 'listitem').map(textOf)).toEqual([
    'an idea of 12 seconds Let it go',
    'an idea of 1 second Let it go',
  ]);
});

test('lets go of the one that was meant', async () => {
  const element = await staged('mh-ideas', { ideas: [idea('a', 576_000), idea('b', 96_000)], rate: 48_000 });
  const asks = asksOf(element);
  byRole(element.shadowRoot!, 'button', 'Let go of an idea of 2 seconds').click();
  expect(asks).toEqual([{ type: 'drop-idea', idea: 'b' }]);
});
