/** The time of a section: its own stretches, and the song's tempo and metre where it has none. Pure. */
import { checkStretches, type MeasuredStretch, type Stretch } from '../meter/stretch.js';
import type { Bars } from '../units/index.js';
import { bars } from '../units/index.js';
import type { EditRefusal } from './edits.js';
import { freeRefusal, holdsRefusal, metreRefusal, tempoRefusal } from './limits.js';
import type { SectionStretch } from './section-stretch.js';
import type { Section, Song } from './song.js';

/** What of a song its sections' time depends on. */
export type SongTime = Pick<Song, 'tempo' | 'metre' | 'sampleRate'>;

/** A section's length and what changes in it. */
export type SectionTime = Pick<Section, 'bars' | 'stretches'>;

/**
 * The bars of a section from its first to its last, as stretches one after the other: what a program is compiled from. An
 * open section is one bar.
 */
export function stretchesOfSection(song: SongTime, { bars: length, stretches }: SectionTime): readonly Stretch[] {
  const end = length ?? 1;
  const first = stretches[0]?.fromBar ?? end;
  const tiled = stretches.flatMap((stretch, index) =>
    tilesOf(song, stretch, (stretches[index + 1]?.fromBar ?? end) - stretch.fromBar),
  );
  return [...plainBars(song, first), ...tiled];
}

/** One bar of the song's own tempo and metre. */
export const songBar = (song: Pick<SongTime, 'tempo' | 'metre'>): MeasuredStretch => ({
  type: 'steady',
  bars: bars(1),
  metre: song.metre,
  tempo: song.tempo,
  holds: [],
});

/** The refusal of a section's stretches under a song's tempo and metre, or null where they can be played. */
export function stretchesRefusal(song: SongTime, { bars: length, stretches }: SectionTime): EditRefusal | null {
  if (stretches.length === 0) return null;
  if (length === null) return 'stretches-need-a-length';
  if (!areInOrder(stretches, length)) return 'stretches-out-of-range';
  for (const stretch of stretches) {
    const refusal = refusalOf(song, stretch);
    if (refusal !== null) return refusal;
  }
  const checked = checkStretches(
    [songBar(song), ...stretchesOfSection(song, { bars: length, stretches })],
    song.sampleRate,
  );
  if (checked.ok) return null;
  return checked.reason === 'nothing-steady' ? 'stretches-out-of-range' : checked.reason;
}

/** The stretches of every section of a song under a tempo and a metre. */
export const songStretchesRefusal = (song: Song): EditRefusal | null =>
  song.sections.map((section) => stretchesRefusal(song, section)).find((refusal) => refusal !== null) ?? null;

function tilesOf(song: SongTime, stretch: SectionStretch, length: number): readonly Stretch[] {
  if (stretch.type === 'free') return [{ type: 'free', frames: stretch.frames }, ...plainBars(song, length - 1)];
  const { metre, tempo, holds } = stretch;
  const measured = { bars: bars(length), metre: metre ?? song.metre, tempo: tempo ?? song.tempo, holds };
  if (stretch.type === 'steady') return [{ type: 'steady', ...measured }];
  return [{ type: 'gradual', ...measured, toBpm: stretch.toBpm }];
}

const plainBars = (song: SongTime, count: number): readonly Stretch[] =>
  count === 0 ? [] : [{ ...songBar(song), bars: bars(count) }];

function areInOrder(stretches: readonly SectionStretch[], length: Bars): boolean {
  return stretches.every(
    ({ fromBar }, index) =>
      Number.isInteger(fromBar) && fromBar > (stretches[index - 1]?.fromBar ?? -1) && fromBar < length,
  );
}

function refusalOf(song: SongTime, stretch: SectionStretch): EditRefusal | null {
  if (stretch.type === 'free') return freeRefusal(stretch.frames, song.sampleRate);
  const tempo = stretch.tempo ?? song.tempo;
  return (
    metreRefusal(stretch.metre ?? song.metre, tempo.mark) ??
    tempoRefusal(tempo.bpm) ??
    (stretch.type === 'gradual' ? tempoRefusal(stretch.toBpm) : null) ??
    holdsRefusal(stretch.holds, song.sampleRate)
  );
}
