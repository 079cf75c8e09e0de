import { beforeEach, describe, expect, test } from 'vitest';
import type { EngineCommand } from '../../src/core/render/commands.js';
import { CHUNK_FRAMES } from '../../src/core/render/pool.js';
import { failure, success } from '../../src/core/result/result.js';
import { asId } from '../../src/core/song/ids.js';
import type { RecordingId } from '../../src/core/song/ids.js';
import { frames } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { Keeping } from '../../src/rehearsal/keeping.js';
import { EngineHandles } from '../../src/rehearsal/handles.js';
import { Loader } from '../../src/rehearsal/loader.js';
import type { SoundDesk } from '../../src/rehearsal/sound-desk.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';

const AUDIO = 7;
let sent: EngineCommand[];
let handles: EngineHandles;
let keeping: Keeping;
/** All that a loader does with a sound desk. */
const desk = { send: (command: EngineCommand) => sent.push(command) } as unknown as SoundDesk;

/** A library in which frame i of every recording is i. */
const counting: Library = {
  ...openMemoryLibrary(),
  readRecording: (_recording, _channel, start, count) =>
    Promise.resolve(
      success({ samples: Float32Array.from({ length: count }, (_, i) => start + i), missing: frames(0) }),
    ),
};
const request = { type: 'audio-wanted', audio: AUDIO, channel: 0, chunk: 3 } as const;

/** The first sample and the length of what was sent. */
const supplied = () =>
  sent.map((command) => (command.type === 'supply' ? [command.chunk, command.samples[0], command.samples.length] : []));

beforeEach(() => {
  sent = [];
  handles = new EngineHandles();
  keeping = new Keeping(null, () => undefined);
  handles.nameRecording(AUDIO, asId<RecordingId>('recording'));
});

describe('a request of the engine', () => {
  test('is answered with the chunk that it names', async () => {
    await new Loader(counting, keeping, handles, desk).load(request);
    expect(supplied()).toEqual([[3, 3 * CHUNK_FRAMES, CHUNK_FRAMES]]);
  });

  test('is answered with silence where storage can’t read it, or does not know the recording', async () => {
    const broken: Library = { ...counting, readRecording: () => Promise.resolve(failure('damaged')) };
    await new Loader(broken, keeping, handles, desk).load(request);
    await new Loader(counting, keeping, handles, desk).load({ ...request, audio: 99 });
    expect(supplied()).toEqual([
      [3, 0, CHUNK_FRAMES],
      [3, 0, CHUNK_FRAMES],
    ]);
  });

  describe('while something is on its way to storage', () => {
    /** A queue whose one write ends when it is told to. */
    function underWay(): () => void {
      let end: () => void = () => undefined;
      keeping.enqueue(
        () =>
          new Promise((resolve) => {
            end = () => resolve(failure('storage-full'));
          }),
      );
      return () => end();
    }

    test('waits for it where it finds something missing, and takes what there is then', async () => {
      const end = underWay();
      let missing = 5;
      const late: Library = {
        ...counting,
        readRecording: async (...range) => {
          const read = await counting.readRecording(...range);
          return read.ok ? success({ ...read.value, missing: frames(missing) }) : read;
        },
      };
      const reading = new Loader(late, keeping, handles, desk).load(request);
      await new Promise((resolve) => setImmediate(resolve));
      expect(sent).toEqual([]);
      missing = 0;
      end();
      await reading;
      expect(supplied()).toEqual([[3, 3 * CHUNK_FRAMES, CHUNK_FRAMES]]);
    });

    test('does not wait where all of it is there', async () => {
      underWay();
      await new Loader(counting, keeping, handles, desk).load(request);
      expect(supplied()).toEqual([[3, 3 * CHUNK_FRAMES, CHUNK_FRAMES]]);
    });
  });

  test('is not answered to the engine that came after', async () => {
    const loader = new Loader(counting, keeping, handles, desk);
    const reading = loader.load(request);
    loader.close();
    await reading;
    expect(sent).toEqual([]);
  });
});
