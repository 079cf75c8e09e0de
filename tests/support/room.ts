/** A rehearsal over the real engine and a library, and a player who counts in and closes a first loop. */
import { openHistory } from '../../src/core/history/open-history.js';
import { asId } from '../../src/core/song/ids.js';
import type { SectionId, SongId } from '../../src/core/song/ids.js';
import { newSong } from '../../src/core/song/new-song.js';
import { milliseconds, sampleRate } from '../../src/core/units/index.js';
import type { Library, SetUp, StorageRefusal } from '../../src/ports/library.js';
import * as engineRoom from '../../src/rehearsal/engine-room.js';
import { Rehearsal } from '../../src/rehearsal/rehearsal.js';
import { NEW_SET_UP } from '../../src/storage/new-set-up.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { EngineSound, OUTPUT_DELAY } from './engine-sound.js';
import { strokes } from './signals.js';

export const BAR = 120_000;
export const BEAT = BAR / 4;

export interface Room {
  readonly rehearsal: Rehearsal;
  readonly sound: EngineSound;
  readonly library: Library;
}

/** A rehearsal over a library, as the front door opens it. */
export async function roomWith(
  library: Library = openMemoryLibrary(),
  lost: StorageRefusal | null = null,
): Promise<Room> {
  const sound = new EngineSound();
  const stored = await library.latestSong();
  if (!stored.ok) throw new Error(stored.reason);
  let opening = stored.value === null ? null : openHistory(stored.value);
  if (opening === null) {
    const song = newSong({
      id: asId<SongId>('song'),
      sectionId: asId<SectionId>('section'),
      title: 'Last Boat Home',
      sampleRate: sampleRate(48_000),
    });
    await library.createSong(song, '2026-01-01T00:00:00.000Z');
    opening = openHistory({ base: song, edits: [], cursor: 0 });
  }
  if (!opening.ok) throw new Error(opening.reason);
  let id = 0;
  const run = Math.random();
  const rehearsal = new Rehearsal(
    {
      sound,
      library,
      clock: { now: () => sound.now, today: () => '2026-01-01T00:00:00.000Z' },
      ids: { fresh: () => `${run} ${id++}` },
      layerName: (n) => `Layer ${n}`,
      engineRoom: () => Promise.resolve(engineRoom),
    },
    { history: opening.value, lost, setUp: await setUpOf(library) },
  );
  return { rehearsal, sound, library };
}

async function setUpOf(library: Library): Promise<SetUp> {
  const kept = await library.setUp();
  return kept.ok ? kept.value : NEW_SET_UP;
}

export const at = (frame: number) => milliseconds(((frame + OUTPUT_DELAY) * 1000) / 48_000);

/** Resolves when promises that are under way have been answered. */
export const turns = () => new Promise((resolve) => setImmediate(resolve));

/** Opens the sound and counts in. */
export async function countIn({ rehearsal, sound }: Room): Promise<number> {
  rehearsal.press(sound.now);
  await turns();
  return sound.origin;
}

/** Records the first loop of four bars. */
export async function firstLoop(room: Room): Promise<number> {
  const { rehearsal, sound } = room;
  const origin = await countIn(room);
  sound.play = strokes(Array.from({ length: 16 }, (_, beat) => origin + beat * BEAT + 50 * (beat % 4)));
  sound.runUntil(origin + 4 * BAR - 3000);
  rehearsal.press(at(origin + 4 * BAR - 5000));
  sound.runUntil(origin + 5 * BAR);
  return origin;
}
