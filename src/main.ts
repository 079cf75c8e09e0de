/**
 * The front door: builds every room, hands each what it needs, and opens the page. The only file that knows them all.
 */
import { openHistory } from './core/history/open-history.js';
import type { History } from './core/history/history.js';
import { asId } from './core/song/ids.js';
import type { SectionId, SongId } from './core/song/ids.js';
import { newSong } from './core/song/new-song.js';
import { milliseconds, sampleRate } from './core/units/index.js';
import type { Clock } from './ports/clock.js';
import type { Ids } from './ports/ids.js';
import type { Library, StorageRefusal } from './ports/library.js';
import { Rehearsal } from './rehearsal/rehearsal.js';
import { SoundOnDemand } from './sound/sound-on-demand.js';
import { openLibrary } from './storage/library.js';
import { NEW_SET_UP } from './storage/new-set-up.js';
import { mountBuild } from './ui/pages/mount.js';
import { cannotOpen, newLayerName, newSongTitle } from './ui/words.js';
import counterUrl from './workers/input-counter.ts?worker&url';
import processorUrl from './worklet/processor.ts?worker&url';

/** Frames a second of a new song: what most interfaces and browsers run at. */
const NEW_SONG_RATE = sampleRate(48_000);

const clock: Clock = {
  now: () => milliseconds(performance.now()),
  today: () => new Date().toISOString(),
};

const ids: Ids = { fresh: () => crypto.randomUUID() };

interface Opened {
  readonly library: Library;
  readonly history: History;
  /** Why nothing will be kept; null if it will. */
  readonly lost: StorageRefusal | null;
}

/** The song edited last, or a new one; in memory where storage is refused or holds what can't be read. */
async function openSong(): Promise<Opened> {
  const library = await openLibrary();
  if (!library.ok) return inMemory(library.reason);
  const stored = await library.value.latestSong();
  if (!stored.ok) return inMemory(stored.reason);
  if (stored.value === null) return startSong(library.value, null);
  const history = openHistory(stored.value);
  return history.ok ? { library: library.value, history: history.value, lost: null } : inMemory('damaged');
}

async function inMemory(lost: StorageRefusal): Promise<Opened> {
  const { openMemoryLibrary } = await import('./storage/memory-library.js');
  return startSong(openMemoryLibrary(), lost);
}

async function startSong(library: Library, lost: StorageRefusal | null): Promise<Opened> {
  const song = newSong({
    id: asId<SongId>(ids.fresh()),
    sectionId: asId<SectionId>(ids.fresh()),
    title: newSongTitle,
    sampleRate: NEW_SONG_RATE,
  });
  const created = await library.createSong(song, clock.today());
  if (!created.ok) return inMemory(created.reason);
  return { library, history: { songs: [song], edits: [], cursor: 0 }, lost };
}

async function open(root: HTMLElement): Promise<void> {
  const { library, history, lost } = await openSong();
  const kept = await library.setUp();
  const setUp = kept.ok ? kept.value : NEW_SET_UP;
  const sound = new SoundOnDemand(async () => {
    const { AudioSound } = await import('./sound/audio-sound.js');
    return new AudioSound({ processorUrl, counterUrl });
  });
  const rehearsal = new Rehearsal(
    { sound, library, clock, ids, layerName: newLayerName, engineRoom: () => import('./rehearsal/engine-room.js') },
    { history, lost, setUp },
  );
  addEventListener('pagehide', () => {
    rehearsal.flush();
  });
  addEventListener('beforeunload', (event) => {
    if (rehearsal.hasUnkept) event.preventDefault();
  });
  mountBuild(root, rehearsal);
}

const root = document.querySelector<HTMLElement>('#app');
if (root === null) throw new Error('Got a page without #app when expected one.');
open(root).catch((error: unknown) => {
  root.textContent = cannotOpen;
  throw error;
});
