import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { asId, type RecordingId } from '../../../src/core/song/ids.js';
import {
  type AudioWindow,
  type Recipe,
  type Rendition,
  renditionKey,
  windowOf,
} from '../../../src/core/song/rendition.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { layerNamed } from './arbitraries.js';

const window: AudioWindow = {
  recording: asId<RecordingId>('oars'),
  channel: 1,
  start: frames(4800),
  frames: frames(96_000),
};

const recipes: readonly Recipe[] = [
  { type: 'conformed', frames: frames(90_000), cents: 0 },
  { type: 'conformed', frames: frames(90_000), cents: 100 },
  { type: 'conformed', frames: frames(90_001), cents: 0 },
  { type: 'reversed' },
  { type: 'half-speed' },
  { type: 'double-speed' },
  { type: 'resampled', from: sampleRate(48_000), to: sampleRate(44_100) },
  { type: 'resampled', from: sampleRate(44_100), to: sampleRate(48_000) },
];

const windows: readonly AudioWindow[] = [
  window,
  { ...window, recording: asId<RecordingId>('oars,1') },
  { ...window, recording: asId<RecordingId>('oars"') },
  { ...window, channel: 14 },
  { ...window, channel: 1, start: frames(44_800) },
  { ...window, frames: frames(96_001) },
];

const renditions: readonly Rendition[] = windows.flatMap((each) =>
  recipes.flatMap((recipe) => [1, 2].map((version) => ({ window: each, recipe, version }))),
);

describe('the name of a rendition', () => {
  test('is the same for equal ones, in whatever order their fields were written', () => {
    for (const { window: of, recipe, version } of renditions) {
      const turned = Object.fromEntries(Object.entries(recipe).toReversed()) as unknown as Recipe;
      const { frames: count, start, channel, recording } = of;
      const again = { version, recipe: turned, window: { frames: count, start, channel, recording } };
      expect(renditionKey(again)).toBe(renditionKey({ window: of, recipe, version }));
    }
  });

  test('tells every window, recipe and version from every other', () => {
    expect(new Set(renditions.map(renditionKey)).size).toBe(renditions.length);
  });
});

test('the window of a take is all it can play: lead, body and tail', () => {
  fc.assert(
    fc.property(layerNamed, (make) => {
      const take = make('layer').takes[0]!;
      const { start, frames: count } = windowOf(take);
      expect(start + take.lead).toBe(take.bodyStart);
      expect(start + count).toBe(take.bodyStart + take.bodyFrames + take.tail);
    }),
  );
});
