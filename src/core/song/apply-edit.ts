/**
 * Applies one edit to a song. The old song is left as it was and the new one shares every part that did not change, so
 * a history can keep them all; an edit that changes nothing gives the very same song back.
 */
import type { Metre, NoteValue } from '../meter/metre.js';
import type { Result } from '../result/result.js';
import { failure, success } from '../result/result.js';
import type { Bars, Bpm } from '../units/index.js';
import { blend, takeApart } from './edit-blend.js';
import { addIdea, dropIdea } from './edit-ideas.js';
import { readAs } from './edit-reading.js';
import {
  addLayers,
  leaveOut,
  renameLayer,
  setLayerGain,
  setRecede,
  setSectionBars,
  setStretches,
} from './edit-section.js';
import { addTake, chooseSeam, realign, setSeam, useTake } from './edit-take.js';
import type { Edit, EditRefusal } from './edits.js';
import { equalData } from './equal-data.js';
import { countInRefusal, metreRefusal, tempoRefusal, trimmedName } from './limits.js';
import { newPartsFault } from './new-parts.js';
import { holdsTheGrid } from './queries.js';
import { songStretchesRefusal } from './section-time.js';
import type { Song } from './song.js';
import { SongError } from './song-error.js';

/**
 * The song after an edit, or why it is refused.
 * @throws {SongError} for parts that cannot join the song: a layer without takes, its take in use not among them, an
 * identity used twice, a seam that reaches beyond its take, a loop read as no whole number of bars.
 */
export function applyEdit(song: Song, edit: Edit): Result<Song, EditRefusal> {
  const fault = newPartsFault(song, edit);
  if (fault !== null) throw new SongError(fault);
  switch (edit.type) {
    case 'retitle':
      return retitle(song, edit.title);
    case 'set-tempo':
      return setTempo(song, edit.bpm);
    case 'set-metre':
      return setMetre(song, edit.metre, edit.mark);
    case 'set-count-in':
      return setCountIn(song, edit.bars);
    case 'set-click':
      return success(edit.on === song.click.on ? song : { ...song, click: { ...song.click, on: edit.on } });
    case 'set-section-bars':
      return setSectionBars(song, edit.section, edit.bars);
    case 'set-stretches':
      return setStretches(song, edit.section, edit.stretches);
    case 'add-layers':
      return addLayers(song, edit.section, edit.layers, edit.sectionBars);
    case 'rename-layer':
      return renameLayer(song, edit.section, edit.layer, edit.name);
    case 'leave-out':
      return leaveOut(song, edit.section, edit.layer, edit.out);
    case 'set-layer-gain':
      return setLayerGain(song, edit.section, edit.layer, edit.gain);
    case 'set-recede':
      return setRecede(song, edit.section, edit.recede);
    case 'add-take':
      return addTake(song, edit.section, edit.layer, edit.take);
    case 'use-take':
      return useTake(song, edit.section, edit.layer, edit.take);
    case 'set-seam':
      return setSeam(song, edit, edit.seam);
    case 'choose-seam':
      return chooseSeam(song, edit, edit.chosen, edit.pickup);
    case 'realign':
      return realign(song, edit, edit.alignment, edit.marks);
    case 'blend':
      return blend(song, edit.section, edit.layers, edit.into);
    case 'take-apart':
      return takeApart(song, edit.section, edit.layer);
    case 'read-as':
      return readAs(song, edit);
    case 'add-idea':
      return success(addIdea(song, edit.idea));
    case 'drop-idea':
      return dropIdea(song, edit.idea);
    default:
      throw new SongError(`Got an unknown edit when expected one of the list: ${String(edit satisfies never)}.`);
  }
}

function retitle(song: Song, title: string): Result<Song, EditRefusal> {
  const name = trimmedName(title);
  if (!name.ok) return name;
  return success(name.value === song.title ? song : { ...song, title: name.value });
}

function setTempo(song: Song, bpm: Bpm): Result<Song, EditRefusal> {
  const refusal = tempoRefusal(bpm);
  if (refusal !== null) return failure(refusal);
  if (bpm === song.tempo.bpm) return success(song);
  if (holdsTheGrid(song)) return failure('layers-hold-the-grid');
  return success({ ...song, tempo: { ...song.tempo, bpm } });
}

function setMetre(song: Song, metre: Metre, mark: NoteValue): Result<Song, EditRefusal> {
  const refusal = metreRefusal(metre, mark);
  if (refusal !== null) return failure(refusal);
  const sameMetre = equalData(metre, song.metre);
  const sameMark = equalData(mark, song.tempo.mark);
  if (sameMetre && sameMark) return success(song);
  if (holdsTheGrid(song)) return failure('layers-hold-the-grid');
  const changed = {
    ...song,
    metre: sameMetre ? song.metre : metre,
    tempo: sameMark ? song.tempo : { ...song.tempo, mark },
  };
  const misfit = songStretchesRefusal(changed);
  return misfit === null ? success(changed) : failure(misfit);
}

function setCountIn(song: Song, bars: Bars | null): Result<Song, EditRefusal> {
  const refusal = countInRefusal(bars);
  if (refusal !== null) return failure(refusal);
  return success(bars === song.countIn ? song : { ...song, countIn: bars });
}
